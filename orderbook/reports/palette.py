"""The colours of every picture: ink, and three hues with one meaning each."""

INK, STEEL, PALE = "#26231F", "#27486B", "#6F8BA8"  # drawn text; worked out; its lighter companion
RUST, PUMICE = "#93391C", "#635E55"  # what was wrong; what stands back
BRASS, STRAW = "#9A7A30", "#FBF6E6"  # the ends of a range, and its tint
