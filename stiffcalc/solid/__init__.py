"""The defined body as a solid: CAD volumes, their STEP file, and ten-node tetrahedra with named faces."""
