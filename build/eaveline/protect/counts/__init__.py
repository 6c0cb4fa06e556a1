"""Every figure that is published, counted for regions, districts and the town."""
