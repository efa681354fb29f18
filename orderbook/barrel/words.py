"""Words for what a barrel is: its drive, the train it turns, the movement it is in."""

DRIVES = ("going", "fusee")
TRAINS = ("going", "striking", "chiming", "musical", "alarm")
MOVEMENTS = ("watch", "clock")
