"""Long work, done by one worker beside the pages: photographs, backups, the daily sweep."""
