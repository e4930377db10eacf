"""What one workshop gives another in files: how they are read, however hostile, and what comes of them."""
