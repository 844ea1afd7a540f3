"""Serves the pages with waitress."""


def serve_pages(host: str, port: int) -> None:
    """Serve until interrupted."""
    from django.core.wsgi import get_wsgi_application
    from waitress import serve

    serve(get_wsgi_application(), host=host, port=port, threads=4, ident="onthree")
