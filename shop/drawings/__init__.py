"""Drawings that a shop sends in of its own service sheets: pictures, or pages of a PDF, kept as pictures that show fine lines."""
