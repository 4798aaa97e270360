"""One file for each thing that a page can ask or have done; `table` lists them."""
