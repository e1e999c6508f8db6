"""The screens: they render what the core decides and send back what the person did."""
