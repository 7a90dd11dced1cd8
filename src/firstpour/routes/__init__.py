"""The ways to make the copies, side by side: printed, or cast in one mould or another."""
