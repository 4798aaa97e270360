"""Pages, drawings and tables: prints results, calculates nothing."""
