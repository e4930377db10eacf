"""What people call parts and their properties, as tables: read by lines of parts and by markings.  Pure."""
