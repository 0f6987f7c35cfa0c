"""README and guides: links lead somewhere, commands exist, output is what is printed now, nothing needs --yes."""

import re
import shlex

import click
import pytest
from potreeve_tools import cli
from potreeve_tools.pictures import make

ROOT = make.ROOT
README = ROOT / "README.md"
STATION = ROOT / "tools" / "potreeve_tools" / "station"
PAGES = [*make.PAGES, STATION / "README.md", STATION / "messages.md", ROOT / "DEVELOPERS.md"]
IDS = [page.relative_to(ROOT).as_posix() for page in PAGES]
# Nothing but these stands at the top; what begins with a dot is a machine's.
TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "firmware", "boards", "tools", "host_tests"}


def words(page):
    return page.read_text(encoding="utf-8")


def anchors(page):
    """The anchors of a page's headings, as a forge makes them."""
    heads = re.findall(r"^#+ (.*)$", re.sub(r"```.*?```", "", words(page), flags=re.S), re.M)
    return {re.sub(r"[^\w\- ]", "", head.lower()).strip().replace(" ", "-") for head in heads}


@pytest.mark.parametrize("page", PAGES, ids=IDS)
def test_links_lead_somewhere(page):
    for target in re.findall(r"\]\(([^)\s]+)\)", words(page)):
        path, _, anchor = target.partition("#")
        there = (page.parent / path).resolve() if path else page
        assert there.exists(), target
        assert not anchor or anchor in anchors(there), target


def test_every_guide_is_in_the_readme():
    for page in make.PAGES[1:]:
        assert f"]({page.relative_to(ROOT).as_posix()})" in words(README), page.name


def test_the_readme_is_short_and_says_first_what_matters():
    lines = words(README).splitlines()
    assert len(lines) < 250
    head = "\n".join(lines[:20])
    assert "Nothing has run on a physical board" in head and "never the mains" in head
    assert "## Not done yet" in lines


def test_a_folder_of_the_top_is_no_surprise():
    tracked = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert tracked - TOP <= {"potreeve.egg-info", "build", "dist", "__pycache__"}


@pytest.mark.parametrize("page", PAGES[:-1], ids=IDS[:-1])
def test_nothing_is_agreed_to_beforehand(page):
    assert not [command for command in commands(page) if "--yes" in command]


def commands(page):
    """Every potreeve command in a page's blocks and in its running text."""
    text, found = words(page), []
    for line in re.findall(r"^(?:\$ )?(.*)$", text, re.M):
        found += [line.split("  #")[0].strip()] if line.startswith("potreeve ") else []
    found += [f"potreeve {line}" for line in re.findall(r"^python3 tools/go.py ((?!test).*?)(?:  #.*)?$", text, re.M)]
    found += [one for one in re.findall(r"`(potreeve [^`\n]+)`", text)]
    return found


@pytest.mark.parametrize("page", PAGES[:-1], ids=IDS[:-1])
def test_every_command_exists_with_its_options(page):
    for command in commands(page):
        parts = shlex.split(command)[1:]
        here, context = cli.cli, click.Context(cli.cli, info_name="potreeve", resilient_parsing=True)
        while isinstance(here, click.Group) and parts and not parts[0].startswith("-"):
            found = here.get_command(context, parts[0])
            assert found is not None, command
            here, context = found, click.Context(found, parent=context, info_name=parts[0], resilient_parsing=True)
            parts = parts[1:]
        known = {name for option in here.params for name in (*option.opts, *option.secondary_opts)} | {"--help", "-h"}
        unknown = [part for part in parts if part.startswith("--") and part.split("=")[0] not in known]
        assert not unknown, f"{command}: {unknown}"


def blocks():
    """A parameter for each output block: page and block. Those of mishaps take a minute or two."""
    for page in PAGES[:-1]:
        for found in make.BLOCK.finditer(words(page)):
            marks = [pytest.mark.slow] if " mishaps " in found[2] else []
            yield pytest.param(found[0], id=f"{page.name}: {found[2][:40]}", marks=marks)


@pytest.mark.parametrize("block", list(blocks()))
def test_output_is_what_is_printed_now(block):
    def untimed(text):
        """Some commands tell how long they took."""
        return re.sub(r"\b\d+ s\.", "N s.", text)

    assert untimed(make.outputs(block)) == untimed(block), "make it anew: python -m potreeve_tools.pictures.make"


# What readers stumbled over, and how it is said instead.
STUMBLED_OVER = {
    "leaves with 1": "exit status 1 if",
    "Nothing anyone had to be told": "No alerts",
    "something to see to": "needs your attention",
    "as things stand": "leave it out",
}


@pytest.mark.parametrize("phrase", STUMBLED_OVER)
def test_sentences_are_plain(phrase):
    files = [*PAGES, *sorted((ROOT / "tools").rglob("*.py")), *sorted((ROOT / "firmware").rglob("*.py"))]
    found = [path.name for path in files if phrase.lower() in " ".join(words(path).split()).lower()]
    assert found == [], STUMBLED_OVER[phrase]


CAUTIONS = {
    "mains": ("never the mains", "USB charger", "mains adapter", "drip loop"),
    "floors": ("neighbours below", "floor"),
    "children and pets": ("lid", "Cats", "swallowed"),
    "standing water": ("Mosquitoes", "algae", "Legionella", "once a week"),
    "food and feed": ("food-safe", "Fertiliser", "Salts shift probes"),
    "batteries": ("LiFePO4 is not lithium-ion", "0 and 45 °C", "protected", "fuse"),
    "codes": ("Local codes", "No compliance"),
}


@pytest.mark.parametrize("about", CAUTIONS)
def test_the_cautions_name_it(about):
    text = " ".join(words(make.HERE.parent / "guides" / "cautions.md").split())
    assert [one for one in CAUTIONS[about] if one.lower() not in text.lower()] == []


def test_the_walk_is_the_same_in_both_pages():
    """The README cuts long output; its commands are those of the whole road, in that order up to the tubes."""

    def walked(page):
        return re.findall(r"^\$ (potreeve .*)$", words(page), re.M)

    road = walked(make.HERE.parent / "guides" / "road.md")
    assert set(walked(README)) <= set(road)
    until = next(index for index, command in enumerate(walked(README)) if "wiring" in command)
    assert [command for command in road if command in walked(README)[: until + 1]] == walked(README)[: until + 1]
