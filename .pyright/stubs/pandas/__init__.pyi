# pandas' own hints call nearly every cell a str, a date and a number at once; here all that it gives is Any.
from typing import Any

def __getattr__(name: str) -> Any: ...
