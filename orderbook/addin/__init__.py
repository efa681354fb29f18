"""Excel and Calc: what is installed there, and how the worksheet functions reach Python."""
