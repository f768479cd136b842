"""What to tell whom: terminal, documents and figures, all from results alone."""
