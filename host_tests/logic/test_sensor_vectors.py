"""The vectors of what turns a sensor's registers into readings: logic.air, sht4x, htu21d, light, diode, ds18b20."""

import pytest
import vectors_air
import vectors_diode
import vectors_ds18b20
import vectors_htu21d
import vectors_light
import vectors_sht4x
from potreeve.logic import air, diode, ds18b20, htu21d, light, sht4x

ALL = (
    (air, vectors_air),
    (sht4x, vectors_sht4x),
    (htu21d, vectors_htu21d),
    (light, vectors_light),
    (diode, vectors_diode),
    (ds18b20, vectors_ds18b20),
)


@pytest.mark.parametrize(
    "module, function, arguments, expected", [(module, *one) for module, vectors in ALL for one in vectors.VECTORS]
)
def test_vector(module, function, arguments, expected):
    assert getattr(module, function)(*arguments) == expected


@pytest.mark.parametrize("module, vectors", ALL)
def test_every_public_function_has_vectors(module, vectors):
    public = {
        name
        for name, value in vars(module).items()
        if callable(value) and not name.startswith("_") and value.__module__ == module.__name__
    }
    assert public == {function for function, _, _ in vectors.VECTORS}
