"""Materials: records, their figures, what may touch what, feel, cautions."""
