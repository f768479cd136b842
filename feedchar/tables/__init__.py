"""What is known, from whom: the reference tables, each value with its source and status."""
