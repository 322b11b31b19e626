"""Teaches the second reader: what it is taught with, how, and what it is worth."""
