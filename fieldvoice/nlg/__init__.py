"""From parts of a reply to its words: written for the eye, spoken for the ear."""
