"""When each task of a job is done: hands, printers, cures and the date."""
