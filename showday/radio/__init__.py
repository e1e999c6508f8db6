"""Clear frequencies: units, products, verifying a set of carriers, and the planner with its proof."""
