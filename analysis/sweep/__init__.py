"""One description with many values: which builds there are, what is found of each, and the table of them all."""
