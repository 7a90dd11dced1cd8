"""What is set into the mould before the shot: rods that leave a true hole, and what stays in the copy."""
