"""The four sheets that go out of the house: for the structural engineer, the rigger, the shop and maintenance."""
