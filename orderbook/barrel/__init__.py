"""One barrel: what was read of it and tried in it, the spring that belongs there, and springs side by side in it.

Pure values in, answers with their ± out; text is read only where a person typed text (`typed.py`).
"""
