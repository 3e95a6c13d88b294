"""The project file: score and work in one archive, written, read back, and mended as far as it is whole."""
