"""What carries a piece, for information: base loads, bolts, tipping, arms, body plate and post.

The structural engineer decides. Nothing here is factored, and what is not described is left out and named.
"""
