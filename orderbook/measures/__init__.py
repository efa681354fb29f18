"""Lengths as a restorer writes them, and readings with their standard uncertainty.

All lengths inside the program are millimetres.
"""
