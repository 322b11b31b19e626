"""fieldvoice: a spoken field assistant for a family's maple season."""
