"""One file for each page: what it asks of the build, and the template that shows it."""
