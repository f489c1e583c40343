"""What people do with jobs: open, edit, check, plan, compare, go back, export."""
