"""A logbook on a server gives the very reports that a file gives."""

from __future__ import annotations

from click.testing import CliRunner
from report_rig import a_day, stamp, write

from callout.cli.main import main
from callout.engine.events import SessionOpened
from callout.logbook.store import Logbook


def outputs(place, folder):
    """Page, paper and trends as the commands give them."""
    made = []
    for words in (
        ["report", "1", "--out", str(folder / "page.html"), "--pdf", str(folder / "page.pdf")],
        ["report", "2", "--out", str(folder / "other.html")],
        ["trends"],
        ["log"],
        ["log", "1"],
        ["log", "export"],
        ["log", "export", "--form", "csv"],
    ):
        done = CliRunner().invoke(main, [*words, "--logbook", str(place)])
        assert 0 == done.exit_code, done.output
        made.append(done.stdout_bytes)
    return made + [(folder / name).read_bytes() for name in ("page.html", "other.html", "page.pdf")]


def test_report_trends_log_and_export_are_the_same_to_the_last_byte(tmp_path, database):
    write(tmp_path / "log.db", a_day())
    write(tmp_path / "log.db", a_day(), day=5)
    with Logbook.read(tmp_path / "log.db") as file, Logbook.open(database) as server:
        for row in file.sessions():
            session = server.begin(row.aircraft, row.revision, row.file, row.fingerprint, row.began)
            facts: dict[int, list] = {}
            for entry in file.entries(row.session):
                facts.setdefault(entry.event or entry.seq, []).append(entry)
            kept = iter(file.facts(row.session))
            for (_, event), entries in zip(file.events(row.session), facts.values(), strict=True):
                server.append(session, event, [next(kept)[1] for _ in entries[1:]],
                              entries[0].stamp)  # fmt: skip
            server.finish(session, row.how, row.ended)
    folders = [tmp_path / "file", tmp_path / "server"]
    for folder in folders:
        folder.mkdir()
    by_file = outputs(tmp_path / "log.db", folders[0])
    assert by_file == outputs(database.url, folders[1])
    assert b"Reedlark" in by_file[2]
    assert len(by_file[7]) > 20_000
    assert stamp(0).wall in by_file[5].decode()
    assert SessionOpened.__name__ in by_file[5].decode()
