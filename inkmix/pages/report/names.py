"""What the files of a report are called."""

PAGE_NAME = "report.html"
JSON_NAME = "report.json"
