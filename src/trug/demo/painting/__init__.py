"""Paint mushrooms from coded states: brush, ground, fruitbodies, and what is seen when they are turned or cut."""
