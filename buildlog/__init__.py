"""The records of Strake Reckoner: builds, readings, sessions, photographs, and the pages over them."""
