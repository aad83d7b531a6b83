"""What hangs on the lay-down order."""
