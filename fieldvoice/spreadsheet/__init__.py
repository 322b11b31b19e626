"""Somebody's own spreadsheet: its tables found, its columns guessed, its rows made notes."""
