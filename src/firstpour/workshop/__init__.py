"""The workshop: machines, kit, room and hours."""
