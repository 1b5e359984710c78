"""One file per engine, the only one that imports it; what all of them share."""
