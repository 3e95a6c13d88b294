"""The music: pages in a scroll, with all that lies over and under them."""
