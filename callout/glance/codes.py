"""The code that a phone's camera reads: on a terminal, and on a page.

Rule of this file: `segno` is imported here only. The token stands behind the "#", which a
browser keeps to itself.
"""

from __future__ import annotations

import base64
import io


def printed(address: str) -> str:
    """For a terminal: dark on light, whatever the terminal's own colours are."""
    import segno

    text = io.StringIO()
    segno.make(address, error="m").terminal(text, border=2, compact=True)
    return text.getvalue()


def drawn(address: str) -> str:
    """For a page: a picture as a data: URI."""
    import segno

    picture = io.BytesIO()
    segno.make(address, error="m").save(picture, kind="svg", scale=4, border=4, light="#fff")
    return "data:image/svg+xml;base64," + base64.b64encode(picture.getvalue()).decode()
