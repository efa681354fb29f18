"""What each command does on a book or a folder: open, call the verbs, write.

One file per command.
"""
