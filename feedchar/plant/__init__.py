"""What to build: circuits, widths, tonnages."""
