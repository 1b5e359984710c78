"""What every table of a description has in common."""

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table of a description: nothing unknown in it, nothing changed after loading."""

    model_config = ConfigDict(extra="forbid", frozen=True)
