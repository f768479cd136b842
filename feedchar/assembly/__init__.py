"""From trial arrays to result records: the last step of the recipe in `characterise`."""
