"""Choosing materials for a job from the shelf."""
