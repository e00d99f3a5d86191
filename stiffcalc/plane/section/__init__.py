"""Plane-stress sections: outline, grid, problem, solution, stress that says how far it can be trusted."""
