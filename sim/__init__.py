"""How a sculpture moves: closed loops, masses, scenes, the engine, recorded runs."""
