"""orderbook: from caliper readings of a spring barrel to the springs to order, weakest first."""

__version__ = "0.1.0"
