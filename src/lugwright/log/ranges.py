"""What any meter at a bench can show."""

# unit -> least and most that any meter at a bench shows of it
RANGES = {"ohm": (0.0, 1e9), "V": (-5e3, 5e3), "A": (-50.0, 50.0), "F": (0.0, 1.0), "": (0.0, 1.0)}
