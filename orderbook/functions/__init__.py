"""The worksheet functions: one table of them, and one call that never raises, for Excel, Calc and `refresh` alike."""
