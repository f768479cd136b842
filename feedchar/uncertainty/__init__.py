"""How sure: named random streams, summaries, shares of variance."""
