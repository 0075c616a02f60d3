"""`manage.py bench_simulator`: loggers that are not there send what first stages do after a purge, by the API."""

import random
from concurrent.futures import ThreadPoolExecutor
from itertools import islice
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.live.management.commands._bench import Logger, Refusal, Server, stage


class Command(BaseCommand):
    help = "Log first stages that are not there, on jobs that are on testing, as a real logger would."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--site", default="http://127.0.0.1:8710")
        parser.add_argument("--token", required=True, help="of a technician: manage.py make_token EMAIL")
        parser.add_argument("--test", default="intermediate_pressure", help="the key of the plan's test")
        parser.add_argument("--benches", type=int, default=1, help="how many jobs are logged at once")
        parser.add_argument("--rate", type=float, default=10.0, help="samples a second")
        parser.add_argument("--chunk", type=int, default=7, help="samples that are sent together")
        parser.add_argument("--seconds", type=float, default=120.0)
        parser.add_argument("--lose", type=float, default=0.0, help="the share of chunks lost on the line")
        parser.add_argument("--seed", type=int, default=1)

    def handle(self, *args: Any, **options: Any) -> None:
        if min(options["rate"], options["chunk"], options["benches"]) <= 0 or not 0 <= options["lose"] < 1:
            raise CommandError("Rate, chunk and benches are above zero, the share that is lost is below one.")
        server = Server(options["site"], options["token"])
        try:
            benches = list(islice(server.benches(options["test"]), options["benches"]))
        except (OSError, Refusal) as error:
            raise CommandError(f"{options['site']} does not answer as it should: {error}") from error
        if len(benches) < options["benches"]:
            raise CommandError(f"Only {len(benches)} jobs on testing have the test {options['test']}.")
        with ThreadPoolExecutor(len(benches)) as threads:
            for said in threads.map(lambda each: self.log(server, each, options), benches):
                self.stdout.write(said)

    def log(self, server: Server, bench: dict[str, Any], options: dict[str, Any]) -> str:
        """Log one job from the beginning to the verdict; a sentence about it."""
        chance = random.Random(f"{options['seed']} {bench['number']}")  # noqa: S311 - a play, not a secret
        server = server.again()
        logger = Logger(server, stage(chance), chance, options["rate"], options["chunk"], options["lose"])
        try:
            given = {"phase": "final", "instrument": bench["instrument"]}
            uid = server.ask("POST", f"jobs/{bench['job']}/tests/{options['test']}/loggings", given)["uid"]
            self.stdout.write(f"Tray {bench['number']}: {server.site}/loggings/{uid}")
            logger.play(uid, options["seconds"])
            verdict = server.ask("POST", f"loggings/{uid}/end", {"chunks": logger.chunks})["verdict"]
        except (OSError, Refusal) as error:
            return f"Tray {bench['number']}: {error}"
        return (
            f"Tray {bench['number']}: {len(logger.made)} samples in {logger.chunks} chunks, {logger.again} sent again; "
            f"{verdict}."
        )
