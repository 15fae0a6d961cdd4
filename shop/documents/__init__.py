"""The papers: each module turns an issued document into HTML with `render_html(document)`."""
