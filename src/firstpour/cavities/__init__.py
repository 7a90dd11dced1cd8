"""Several cavities in one mould: how they lie, what they take, how many meet the date."""
