"""The arithmetic of planking."""
