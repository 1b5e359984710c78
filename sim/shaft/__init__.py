"""Shafts that bend: frames in space, from a crankshaft to its loads and its bent shape."""
