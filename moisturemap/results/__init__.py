"""Results as words, tables, layers and files."""
