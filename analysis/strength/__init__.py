"""What shafts, keyseats and welds stand: from moments over a turn to margins, lives and stock sizes."""
