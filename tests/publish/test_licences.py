from jointlab.publish.licences import LICENCES, licence_address


def test_a_known_licence_has_its_address_and_any_other_is_itself() -> None:
    assert licence_address("CC0-1.0") == "https://creativecommons.org/publicdomain/zero/1.0/"
    assert licence_address("ask us") == "ask us"
    assert list(LICENCES) == ["CC-BY-4.0", "CC0-1.0", "ODC-BY-1.0"]
