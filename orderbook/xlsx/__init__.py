"""A workbook file changed without losing a byte: read, written, worked out and saved."""
