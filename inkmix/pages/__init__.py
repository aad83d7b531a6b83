"""What people and scripts are shown: pages, tables, data; made of values, nothing is computed."""
