"""Foreign formats, one file each."""
