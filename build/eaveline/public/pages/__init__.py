"""The site's pages, and Pelican that writes them."""
