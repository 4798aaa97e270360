"""What builders get wrong: one file for each kind of fault, each read off the planned wiring."""
