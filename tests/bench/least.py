"""The least program of the same libraries: a command, a model and a table, and nothing of ours."""

import typer
from pydantic import BaseModel
from tabulate import tabulate

app = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)


class Setting(BaseModel):
    """A module's rate."""

    id: str
    rate: int


@app.command()
def show(id: str = "TG-01", rate: int = 9600) -> None:
    """Print a table of one module."""
    print(tabulate([Setting(id=id, rate=rate).model_dump()], headers="keys"))


if __name__ == "__main__":
    app()
