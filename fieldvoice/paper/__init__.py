"""The season on paper and screen: a page to look back on it, and cards to print."""
