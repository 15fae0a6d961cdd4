"""Settings of a real, separate service that a test starts: the shop's own and one tiny paper."""

from shop.settings import *  # noqa: F403  # all of the shop's settings
from shop.settings import PAPERS

PAPERS = {**PAPERS, "survey": "tests.shop.rendering.tiny_paper"}
