#!/usr/bin/env python
"""Entry point of every command: run, migrate, evaluate and the rest."""

import os
import sys

from django.core.management import execute_from_command_line


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
