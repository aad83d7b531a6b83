"""Room for rows that were unpacked once and are wanted again."""
