"""The index of a batch: a page for people, tables for spreadsheets, JUnit for scripts."""
