"""Pictures: taken in safely, kept, shown large or small, and read.

All but `photos` and `reading` is plain Pillow and does not import Django.
"""
