"""How a request of the API is read."""

import json
from collections.abc import Mapping
from typing import IO, Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser


class StorableJSONParser(JSONParser):
    """JSON that can be stored and said again in an answer; what cannot is refused here, for all fields."""

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        try:
            data = super().parse(stream, media_type, parser_context)
            # Half of a surrogate pair passes as an escape and has no place in UTF-8.
            json.dumps(data, ensure_ascii=False).encode()
        except RecursionError:
            raise ParseError("The JSON is nested too deeply to be read.") from None
        except UnicodeEncodeError:
            raise ParseError("The JSON holds half of a surrogate pair, which is no character.") from None
        return data
