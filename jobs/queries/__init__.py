"""Readers: folds over the change log and what is drawn from them."""
