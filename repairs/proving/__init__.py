"""What is proven: trials, links, orientation, rails, and when it is safe to switch on.  No Django here."""
