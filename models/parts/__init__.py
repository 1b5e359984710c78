"""What can be bought: part families with their standard sizes, generic, each row with its source."""
