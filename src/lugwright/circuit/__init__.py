"""The circuit as elements between joints, edits of it, tube equations, and the rating rules."""
