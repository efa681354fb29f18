"""What the movement needs, which springs meet it, and which to order weakest first.

Evidence, fit, rank and the graded order, all by one cost.
"""
