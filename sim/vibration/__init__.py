"""Natural frequencies: the drive line in torsion, shafts sideways, chain strands, the post."""
