"""A package for the analyst who goes on from here with solid finite elements."""
