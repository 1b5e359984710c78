"""A sculpture by its angles alone: each side as tables over its crank, only the drive integrated in time."""
