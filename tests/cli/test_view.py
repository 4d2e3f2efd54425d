"""`manifoldgen view`: a page lands where it says, is opened, and a missing browser is no error."""

from __future__ import annotations

import webbrowser
from pathlib import Path

from manifoldgen.cli import main


def test_the_page_is_written_and_opened(straight_job, monkeypatch, tmp_path, capsys):
    """The browser gets the file's own address; stdout is the file's name."""
    asked: list[str] = []
    monkeypatch.setattr(webbrowser, "open", lambda url: asked.append(url) or True)
    code = main(["view", "job.yaml", "--out", str(tmp_path / "pages")])
    target = tmp_path / "pages" / f"{straight_job.name}.html"

    assert code == 0
    assert target.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert asked == [target.as_uri()]
    assert capsys.readouterr().out.strip() == str(target)


def test_without_a_browser_the_file_is_there(straight_job, monkeypatch, tmp_path, capsys):
    """On a machine without a screen the page is made all the same, and one line says to open it elsewhere."""
    monkeypatch.setattr(webbrowser, "open", lambda url: False)
    code = main(["view", "job.yaml", "--out", str(tmp_path)])

    assert code == 0
    assert "no browser was found here" in capsys.readouterr().err
    assert len(list(Path(tmp_path).glob("*.html"))) == 1


def test_it_can_stay_closed(straight_job, monkeypatch, tmp_path):
    """`--no-open` asks no browser."""
    monkeypatch.setattr(webbrowser, "open", lambda url: 1 / 0)

    assert main(["view", "job.yaml", "--out", str(tmp_path), "--no-open"]) == 0
