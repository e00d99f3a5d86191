"""Searches over designs: what else the same body could carry, evaluated by the same checks."""
