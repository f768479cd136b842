"""The command line, thin over the Python interface."""
