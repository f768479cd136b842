"""How the grains are joined and where the iron sits: particle classes."""
