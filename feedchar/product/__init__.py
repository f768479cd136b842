"""What can be sold: product oxides, curves, and the iron that stays."""
