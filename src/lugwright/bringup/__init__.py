"""Charts for the ohms check and the first power-up; setting the idle."""
