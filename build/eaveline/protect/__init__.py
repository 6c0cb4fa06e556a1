"""The gate between the private side and the public one."""
