"""What stands on the shelf: packs, what is taken, what must be bought."""
