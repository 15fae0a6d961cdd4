"""Texts that try to make the renderer of papers fetch, run, attach or show something."""

from __future__ import annotations

import itertools
import random
from pathlib import Path

# Where WeasyPrint fetches from: its documentation, "First Steps", "URL Fetchers" and "Security".
LOADS = (
    '<link rel=stylesheet href="{url}">',
    '<style>@import url("{url}");</style>',
    "<style>@font-face{{font-family:x;src:url({url})}}*{{font-family:x}}</style>",
    "<style>*{{background:url({url})}}</style>",
    '<ul style="list-style-image:url({url})"><li>x</ul>',
    '<style>p::before{{content:url("{url}")}}</style>',
    '<img src="{url}">',
    "<img srcset='{url} 2x'>",
    '<object data="{url}"></object>',
    '<embed src="{url}">',
    '<svg><image href="{url}" width=9 height=9 /></svg>',
    '<svg><use href="{url}#x"/></svg>',
    '<link rel=attachment href="{url}">',
    '<a rel=attachment href="{url}">x</a>',
    '<a href="{url}">x</a>',
    '<base href="{url}">',
    '<meta http-equiv=refresh content="0;url={url}">',
    '<iframe src="{url}"></iframe>',
    '<video poster="{url}"></video>',
    '<i style="background:url({url})">x</i>',
    "<script src='{url}'></script>",
)
# What the text closes first: a quoted attribute, a style sheet, a title, a comment, a drawing.
CLOSES = (
    "",
    '">',
    "'>",
    "</style>",
    "</title>",
    "-->",
    "]]>",
    "</text></svg>",
    "</td></tr></table>",
)
# The same once more in other clothes: escaped already, wide signs, torn, turned round.
CLOTHES = (
    "{text}", "&lt;{text}", "\u202e{text}", "\n{text}\n", "{{% include '{text}' %}}",
    "{{{{ {text}|safe }}}}",
)  # fmt: skip
OTHERS = (
    "{% debug %}", "{{ settings.SECRET_KEY }}", "{% load static %}{% csrf_token %}", "%(name)s",
    "{0}", "{volume}", "$(id)", "`id`", "'; DROP TABLE shop_document; --", "\\2f * ", "/* ", "*/",
    "<!--", "<![CDATA[", "&#x3c;img src=x&#x3e;", "\uff1cimg src=x\uff1e", "\u200f\u200e\u2066x",
    "\ufeff", "<p", "</body></html>", "<?xml version='1.0'?>", "&amp;lt;b&amp;gt;",
)  # fmt: skip


def hostile_values(count: int, port: int, folder: Path, seed: int) -> list[str]:
    """Distinct values; each way to load is there with each kind of address."""
    urls = [
        f"http://127.0.0.1:{port}/x.css",
        f"//127.0.0.1:{port}/x.png",
        f"ftp://127.0.0.1:{port}/x",
        (folder / "planted.css").as_uri(),
        (folder / "planted.png").as_uri(),
        (folder / "planted.svg").as_uri(),
        (folder / "planted.txt").as_uri(),
        f"data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg'%3E%3Cimage "
        f"href='http://127.0.0.1:{port}/y.png'/%3E%3C/svg%3E",
        f"/files/1?{port}",
        "/static/css/tokens.css",
    ]
    chance = random.Random(seed)
    plain = [load.format(url=url) for load, url in itertools.product(LOADS, urls)]
    closed = [
        chance.choice(CLOTHES).format(text=f"{chance.choice(CLOSES)}{text}") for text in plain * 3
    ]
    distinct = list(dict.fromkeys([*OTHERS, *plain, *closed]))
    assert len(distinct) >= count
    return distinct[:count]
