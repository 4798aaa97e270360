"""The build book as PDF and HTML."""
