"""Records in the words of a page: printing only, nothing here calculates."""
