"""The history of the tables. It may know every slice's tables; nothing imports it."""
