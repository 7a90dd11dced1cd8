"""One way to write a file or a folder: beside its place first, whole or not at all."""
