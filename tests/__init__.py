"""What is true of the product, area by area; `support` holds what several areas share."""
