"""`python -m orderbook` is the command `orderbook`."""

from orderbook.cli import main

if __name__ == "__main__":
    main()
