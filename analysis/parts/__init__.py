"""From worst loads to parts: which size of each family carries them, what governs, and what that means in the shop."""
