"""A half as a 3-D elastic solid on a grid of splines: what plates and beams cannot say of a joint face."""
