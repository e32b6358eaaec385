"""Do the pages lead somewhere, is every page and picture reached, and do they keep to what a page may say?"""

import re
from urllib.parse import unquote

import pytest

from tests.docs_help import EVERY, NOTES, PAGES, ROOT, anchors, links, name_of, read

WRITTEN = [page for page in PAGES if page.name != "states.md"]


@pytest.mark.parametrize("page", EVERY, ids=name_of)
def test_every_link_leads_to_a_file_and_a_heading(page):
    for link in links(read(page)):
        assert "://" not in link, f"{link}: pages stand alone"
        path, _, part = unquote(link).partition("#")
        target = (page.parent / path).resolve() if path else page
        assert target.exists() and ROOT in target.parents, f"{link}: no such file"
        if part:
            assert part in anchors(read(target)), f"{link}: no such heading; {sorted(anchors(read(target)))}"


def test_every_page_is_reached_from_the_first():
    reached, left = set(), [NOTES / "README.md"]
    while left:
        page = left.pop()
        if page in reached:
            continue
        reached.add(page)
        found = {
            (page.parent / link.partition("#")[0]).resolve() for link in links(read(page)) if not link.startswith("#")
        }
        left += [path for path in found if path.suffix == ".md" and path.parent == NOTES]
    assert reached == set(PAGES)


def test_every_picture_and_settings_file_is_shown_somewhere():
    shown = {(page.parent / link.partition("#")[0]).resolve() for page in EVERY for link in links(read(page))}
    files = [path for path in NOTES.rglob("*") if path.suffix in (".svg", ".png", ".json")]
    assert files and not [name_of(path) for path in files if path.resolve() not in shown]


@pytest.mark.parametrize("page", WRITTEN, ids=name_of)
def test_a_picture_says_what_it_shows(page):
    for words, _ in re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", read(page)):
        assert len(words) > 10, f"picture without words: {words!r}"


@pytest.mark.parametrize("page", [page for page in EVERY if page.name != "states.md"], ids=name_of)
def test_lines_fit_a_small_screen(page):
    """Tables, comments and what a program prints may be wider."""
    text = re.sub(r"```.*?```", "", read(page), flags=re.DOTALL)
    wide = [line for line in text.splitlines() if len(line) > 120 and not line.startswith(("|", "<!--", "![", "    "))]
    assert not wide


@pytest.mark.parametrize("page", WRITTEN, ids=name_of)
def test_mains_is_never_mentioned_without_a_way_to_the_safety_page(page):
    text = read(page)
    if page.name not in ("mains-safety.md",) and re.search(r"\bmains\b|contactor", text, flags=re.IGNORECASE):
        assert "mains-safety.md" in text


def test_standards_say_how_sure_we_are():
    """Each row of the table of standards ends with what was read, or "from memory"."""
    text = read(NOTES / "mains-safety.md").partition("## What to ask for, by name")[2].partition("\n## ")[0]
    rows = [line for line in text.splitlines() if line.startswith("| ")][1:]
    assert len(rows) >= 10
    for row in rows:
        assert re.search(r"from memory|read in|checked", row.rstrip("| ").rpartition("|")[2]), row


def test_a_missing_heading_and_a_missing_file_are_found(tmp_path):
    """The tests above can fail."""
    assert anchors("# A title\n\n## What, then?\n\n```\n# not one\n```\n") == {"a-title", "what-then"}
    assert links("see [a](b.md#c) and ![d](e.svg), not `[f](g.md)`") == ["b.md#c", "e.svg"]


def test_steps_named_elsewhere_are_those_of_the_table():
    """Bench and lamps end where the house begins; other pages name that step by its number."""
    text = read(NOTES / "first-power-up.md")
    numbers = [int(number) for number in re.findall(r"^\| (\d+) \|", text, flags=re.MULTILINE)]
    assert numbers == list(range(1, len(numbers) + 1))
    first = int(re.findall(r"^\| (\d+) \|", text.partition("## In the house")[2], flags=re.MULTILINE)[0])
    assert f"connected before step {first}." in text
    assert f"steps 1 to {first - 1}, with lamps" in read(NOTES / "wiring.md")
