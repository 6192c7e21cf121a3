"""How long every page of the demo takes, and how that compares with a page that asks nothing.

Run from the repository, after ``make demo``: ``python -m tests.bench.pages [rounds]``. Prints the
median of each page in milliseconds and its ratio to the health page of the same run, slowest
first; exit code 1 if a page takes more than 150 ms. Charts and files are listed apart.
"""

from __future__ import annotations

import os
import statistics
import sys
import time

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings_demo")

TARGET_MS = 150.0


def main(rounds: int) -> int:
    import django

    django.setup()
    from django.conf import settings
    from django.test import Client

    from config.accounts.models import Site, User
    from tests.walk import walk

    settings.ALLOWED_HOSTS = ["testserver"]
    client = Client()
    client.force_login(User.objects.get(username="supervisor"), settings.AUTHENTICATION_BACKENDS[1])
    pages: set[str] = set()

    def read(address: str) -> str | None:
        answer = client.get(address)
        if answer.status_code != 200 or not answer["Content-Type"].startswith("text/html"):
            return None
        pages.add(address)
        return answer.content.decode()

    starts = ["/", *(f"/{slug}/" for slug in Site.objects.values_list("slug", flat=True))]
    found = walk(read, starts, each=3)

    def median_ms(address: str) -> float:
        taken = []
        for _ in range(rounds):
            began = time.perf_counter()
            client.get(address)
            taken.append(1000 * (time.perf_counter() - began))
        return statistics.median(taken)

    reference = median_ms("/healthz")
    print(f"reference /healthz: {reference:.1f} ms")
    timed = [
        (median_ms(address), name, address) for name, every in found.items() for address in every
    ]
    slow = 0
    for kind, wanted in (("pages", True), ("charts and files", False)):
        print(f"\n{kind}")
        for taken, name, address in sorted(timed, reverse=True):
            if (address in pages) is wanted:
                slow += wanted and taken > TARGET_MS
                print(f"{taken:8.1f} ms {taken / reference:7.1f} x  {name:24} {address}")
    return 1 if slow else 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 5))
