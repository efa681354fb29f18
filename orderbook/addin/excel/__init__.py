"""The worksheet functions in Excel on Windows: the module xlwings publishes, and the macro code a live book carries."""
