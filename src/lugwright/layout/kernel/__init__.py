"""The search itself: flat tables, and functions over them that are compiled to machine code when first run."""
