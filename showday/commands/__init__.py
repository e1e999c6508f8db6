"""The commands of the program: what each declares, asks the desk for, and prints."""
