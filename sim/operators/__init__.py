"""Who turns the wheel, or stops it. A new kind of hand is a new file here and one line in a scenario."""
