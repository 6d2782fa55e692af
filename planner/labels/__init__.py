"""Ingredient lists as they are printed: lines, shares, what they mean, and the compositions that they allow."""
