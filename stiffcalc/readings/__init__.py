"""Readings of a bench or a solid model beside the prediction: read, fit, compare, and a correction out of it."""
