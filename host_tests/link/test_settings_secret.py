"""A made-up secret key: stored, sent, compared, and never shown."""

import json

import made
import pytest
from potreeve.logic import settings as logic
from potreeve_tools.link import settings_diff
from potreeve_tools.settings import settings_secret, settings_toml, settingsfile
from potreeve_tools.terminal.faultlist import BadInput

WORD = "correct horse battery staple, and more of it"


@pytest.fixture(autouse=True)
def made_up_key(monkeypatch):
    monkeypatch.setattr(logic, "RIG_KEYS", (*logic.RIG_KEYS, ("made_up_password", logic.SECRET, "", 0, 63, "")))


def test_it_is_stored_and_sent(tmp_path):
    settings = made.settings(made_up_password=WORD)
    assert json.loads(settingsfile.to_json(settings))["made_up_password"] == WORD
    path = tmp_path / "s.toml"
    path.write_text(settings_toml.to_toml(settings))
    assert settingsfile.load(path) == settings


def test_it_is_never_shown():
    old, new = made.settings(made_up_password="another one"), made.settings(made_up_password=WORD)
    lines = [change.line() for change in settings_diff.changes(old, new)]
    assert lines == ["made_up_password: one secret -> another (not shown)"]
    shown = "\n".join(
        [
            settings_toml.to_toml(new, hide_secrets=True),
            json.dumps(settings_secret.veiled(new)),
            [change for change in settings_diff.changes(None, new) if "password" in change.key][0].line(),
            *settings_secret.veiled_words(["set", "made_up_password", WORD, f"made_up_password={WORD}"]),
        ]
    )
    assert WORD[:8] not in shown and settings_secret.HIDDEN in shown


@pytest.mark.parametrize("key", ["made_up_password", "made_up_pasword", "Made_Up_Password"])
@pytest.mark.parametrize("value", [WORD * 2, 123456789012, [WORD]])
def test_a_fault_does_not_show_it_either(key, value):
    with pytest.raises(BadInput) as fault:
        settingsfile.check(made.settings_data(**{key: value}), "my.toml")
    text = "\n".join(fault.value.faults)
    assert WORD[:12] not in text and "123456" not in text


def test_plain_keys_are_not_veiled():
    settings = made.settings()
    assert settings_secret.veiled(settings)["name"] == "reading room"
    assert settings_secret.secret_keys() == ["made_up_password", "wifi_key", "broker_key", "command_key"]
