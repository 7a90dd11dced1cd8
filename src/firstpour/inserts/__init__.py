"""What is set into the mould before the shot: rods that leave a true hole, tubes that stay in the copy."""
