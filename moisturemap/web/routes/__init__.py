"""The addresses of the app, one file for each task of the page."""
