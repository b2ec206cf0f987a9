"""What people see: result tables drawn as a static site. Nothing here computes an estimate."""
