"""The only room that draws."""
