"""The book a restorer opens: its layout, reading it, and writing it without losing a byte.

The only room that knows the file formats of spreadsheets.
"""
