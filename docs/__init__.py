"""Pages made from the program itself, and what makes them."""
