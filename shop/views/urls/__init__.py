"""One module per area of the pages; each has `urlpatterns` with paths from the site's root."""
