"""What a sculpture is: its schema, units, materials, people and the example sculptures."""
