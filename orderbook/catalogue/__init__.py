"""A supplier's file in, springs and rejects out: no row is lost.

Own code only for what the columns of a spring list mean.
"""
