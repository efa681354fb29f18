"""What can be asked: plain functions that join the rooms below.

One verb is one function, and where a cell can hold its answer one worksheet function.
"""
