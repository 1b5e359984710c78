"""Descriptions that several tests draw: the demo, and a one-sided moth with a handle."""

from pathlib import Path

MANTA = Path(__file__).parents[2] / "models" / "manta.toml"
MOTH = """
name = "Moth"
sides = 1
[crank]
height = "600 mm"
[wheel]
kind = "handle"
radius = "150 mm"
height = "600 mm"
[[panel]]
name = "wing"
outline = { unit = "mm", points = [[-150, 0], [150, 0], [180, 350], [-60, 400]] }
thickness = "2 mm"
hinge = { out = "40 mm", up = "250 mm" }
yoke_pin = { out = "120 mm", below = "20 mm" }
throw = { radius = "45 mm", angle = "7 deg", out = "150 mm" }
rod = "230 mm"
"""
