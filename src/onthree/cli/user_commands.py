"""The commands of accounts: people who sign in, and keys for programs."""

import sys
from typing import Annotated

import typer

from onthree.cli.manners import AsJson, Folder, open_store, refusing, show

user_app = typer.Typer(
    name="user", help="People who sign in from other computers.", no_args_is_help=True, rich_markup_mode=None
)
token_app = typer.Typer(name="token", help="Keys for programs that use the API.", no_args_is_help=True)

Name = Annotated[str, typer.Argument(metavar="NAME", help="The name to sign in with.")]
TokenName = Annotated[str, typer.Argument(metavar="NAME", help="What the key is for, such as score-board.")]


@user_app.command("add", epilog="Example: onthree user add r.marsh --role editor")
def user_add(
    name: Name,
    role: Annotated[
        str,
        typer.Option(help="lead, medical-direction, editor, responder, reader or ambulance-partner."),
    ],
    organisation: Annotated[
        str | None, typer.Option(metavar="CODE", help="Code of the organisation (default: the only one of the store).")
    ] = None,
    folder: Folder = None,
) -> None:
    """Add somebody; the password is asked, or read from standard input."""
    from onthree.actions.accounts import add_person
    from onthree.programme.roles import read_role

    open_store(folder)
    with refusing():
        added = add_person(name, read_role(role), _password(), organisation)
    typer.echo(f"{added.name} may sign in as {added.role}.")


@user_app.command("list", epilog="Example: onthree user list")
def user_list(folder: Folder = None, as_json: AsJson = False) -> None:
    """Everybody who may sign in."""
    from onthree.actions.accounts import list_people

    open_store(folder)
    people = list_people()

    def lines() -> None:
        for person in people:
            last = f"signed in on {person.signed_in_on}" if person.signed_in_on else "never signed in"
            typer.echo("  ".join(filter(None, (person.name, person.role, person.organisation, last))))
        if not people:
            typer.echo("Nobody: only this computer is answered. Add somebody with onthree user add NAME --role ROLE")

    show(as_json, "people", people, lines)


@user_app.command("password", epilog="Example: onthree user password r.marsh")
def user_password(name: Name, folder: Folder = None) -> None:
    """Give somebody another password; their other devices must sign in again."""
    from onthree.actions.accounts import set_password

    open_store(folder)
    with refusing():
        set_password(name, _password())
    typer.echo(f"{name} has another password.")


@user_app.command("remove", epilog="Example: onthree user remove r.marsh")
def user_remove(name: Name, folder: Folder = None) -> None:
    """Take somebody's account away, with its keys; what they wrote stays."""
    from onthree.actions.accounts import remove_person

    open_store(folder)
    with refusing():
        remove_person(name)
    typer.echo(f"{name} may sign in no longer.")


@token_app.command("add", epilog="Example: onthree token add score-board --user r.marsh")
def token_add(
    name: TokenName,
    user: Annotated[str, typer.Option(metavar="NAME", help="Whose role the program has.")],
    folder: Folder = None,
) -> None:
    """Make a key for a program; it is printed once and never again."""
    from onthree.actions.accounts import add_token

    open_store(folder)
    with refusing():
        token = add_token(name, user)
    typer.echo(token)


@token_app.command("list", epilog="Example: onthree token list")
def token_list(folder: Folder = None, as_json: AsJson = False) -> None:
    """Every key: what for, whose, when last used; never the key itself."""
    from onthree.actions.accounts import list_tokens

    open_store(folder)
    tokens = list_tokens()

    def lines() -> None:
        for token in tokens:
            used = f"used on {token.used_on}" if token.used_on else "never used"
            typer.echo(f"{token.name}  {token.person}  made on {token.made_on}  {used}")
        if not tokens:
            typer.echo("No keys.")

    show(as_json, "tokens", tokens, lines)


@token_app.command("remove", epilog="Example: onthree token remove score-board")
def token_remove(name: TokenName, folder: Folder = None) -> None:
    """Revoke a key."""
    from onthree.actions.accounts import remove_token

    open_store(folder)
    with refusing():
        remove_token(name)
    typer.echo(f"{name} opens nothing any more.")


def _password() -> str:
    """A password typed twice without being shown, or the first line of what is piped in."""
    if sys.stdin.isatty():
        password: str = typer.prompt("Password", hide_input=True, confirmation_prompt=True)
        return password
    return sys.stdin.readline().rstrip("\r\n")
