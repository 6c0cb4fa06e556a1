"""The private side: tables that may hold exact places."""
