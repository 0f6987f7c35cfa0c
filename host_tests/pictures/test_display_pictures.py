"""The pictures of the display's pages are those that its firmware draws now."""

from potreeve_tools.pictures import display


def test_the_guides_sheets_are_what_is_drawn_now(tmp_path, monkeypatch):
    shipped = display.HERE
    monkeypatch.setattr(display, "HERE", tmp_path)
    display.main([])
    made = sorted(path.name for path in tmp_path.glob("*.png"))
    assert made == [f"display_{name}.png" for name in sorted(display.SITUATIONS)]
    for name in made:
        same = (tmp_path / name).read_bytes() == (shipped / name).read_bytes()
        assert same, f"{name}: make it anew: python -m potreeve_tools.pictures.display"
