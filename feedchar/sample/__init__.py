"""What was measured: readers of folders, workbooks and single tables into one `Sample`."""
