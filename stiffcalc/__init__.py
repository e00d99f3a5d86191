"""Structural pre-design of fixed (opposed-piston) disc-brake calipers. Screening estimates only."""
