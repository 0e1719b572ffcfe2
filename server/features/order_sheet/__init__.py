"""The sheet of an order that is to be placed from the shopping list."""
