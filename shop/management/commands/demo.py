"""Fill an empty database with the demonstration shop, and print its passwords once."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Iterable
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.models import Role, Yard
from shop.services.accounts import Credential, password_make
from shop.services.members import member_set_password


class Command(BaseCommand):
    help = (
        "Load the demonstration shop into an empty database and print its generated passwords. "
        "A database that holds it already is left as it is."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--new-passwords", action="store_true", help="give the demo accounts new passwords"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        yard = Yard.objects.first()
        if yard is not None and not yard.is_demo:
            raise CommandError(
                f"This database is the shop of {yard.name}. The demonstration goes into an empty "
                "one: set DATA_DIR to a new directory."
            )
        if yard is None:
            from shop.demo.load import demo_load

            self.show(demo_load())
        elif options["new_passwords"]:
            self.show(renewed(yard))
        else:
            self.stdout.write(
                "The demonstration shop is loaded. Its passwords were printed at the first start; "
                "`manage.py demo --new-passwords` gives new ones."
            )

    def show(self, credentials: Iterable[Credential]) -> None:
        self.stdout.write("Demonstration accounts (shown once):")
        for one in credentials:
            role = Role(one.role).label.lower()
            self.stdout.write(f"  {one.username:<9} {one.password}   {one.name}, {role}")


def renewed(yard: Yard) -> list[Credential]:
    members = list(yard.members.select_related("user").order_by("pk"))
    lead = next(member for member in members if member.role == Role.LEAD)
    made = []
    for member in members:
        password = password_make()
        member_set_password(member=lead, subject=member, password=password)
        user = member.user
        made.append(Credential(user.username, user.name, member.role, password))
    return made
