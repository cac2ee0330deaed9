"""The rectangle optimizer: kernel, search and its parts."""
