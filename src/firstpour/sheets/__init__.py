"""What is printed and taped to the wall: the pages of a plan for the bench."""
