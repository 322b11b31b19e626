"""Teaches the small listener: what it is taught with, how, and what it is worth."""
