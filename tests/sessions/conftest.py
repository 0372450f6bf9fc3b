import pytest

from tests.conftest import Cast
from tests.sessions.block import OpenBlock, open_block


@pytest.fixture
def opened(cast: Cast) -> OpenBlock:
    return open_block(cast)
