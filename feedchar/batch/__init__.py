"""Many samples at once."""
