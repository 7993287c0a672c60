"""What the tests of clips share."""

import pytest
from render.spots import make_media


@pytest.fixture(scope="session")
def media(tmp_path_factory):
    """Folder of clips, stills, sound and a title."""
    folder = tmp_path_factory.mktemp("media")
    make_media(folder)
    return folder
