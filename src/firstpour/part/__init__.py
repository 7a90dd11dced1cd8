"""The part: read, repair, measure, mark; and the sample parts."""
