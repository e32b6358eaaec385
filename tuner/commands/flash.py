"""loamstat flash: firmware and settings onto a board."""

import click

from tuner.commands import options


@click.command(short_help="Put firmware and settings on a board, and prove that it decides as this computer does.")
@options.PORT
@click.option("--settings", "settings_path", type=click.Path(), help="A settings file (JSON) to put on the board.")
@click.option("--roles", "roles_path", type=click.Path(), help="A roles file (JSON): which probe is which.")
@click.option("--dry-run", is_flag=True, help="Show what would change, and write nothing.")
@click.option("--rollback", is_flag=True, help="Return to the firmware before, which the other slot still holds.")
@click.option("--now", is_flag=True, help="Also while frost guard holds, though a restart rests the fan.")
@click.option("--replace", is_flag=True, help="Also onto a board that runs another program; a copy is kept.")
@click.option("--copies", default="board-copies", show_default=True, type=click.Path(), help="Folder of dated copies.")
@options.UNITS
def command(port, settings_path, roles_path, dry_run, rollback, now, replace, copies, units):
    """Bring the board to this program's firmware and the settings given; only what differs is sent.

    A dated copy of what was on the board is kept first. The new firmware goes beside the old, is verified, and is
    switched to at the end; then the board must decide 240 fixed steps exactly as this computer does. Whatever goes
    wrong, the board has a whole firmware to run, and the message says which.
    """
    if rollback and (settings_path or roles_path or dry_run or replace):
        raise click.UsageError("--rollback goes with --port, --now and --units only.")

    from tuner import link, link_boards, link_roles, link_tree, settings_file

    wanted = settings_file.load_settings(settings_path) if settings_path else None
    roles = link_roles.load_roles(roles_path) if roles_path else None
    tree = link_tree.own()
    device = link_boards.pick(port, new=True)
    with link.Link(device) as board:
        kind, _ = board.look(3.0)
        click.echo(f"{device}: {_first_words(board, kind)}")
        if rollback:
            _roll_back(board, kind, tree, now, units)
        elif kind == "loamstat":
            _bring(board, tree, (wanted, roles), dry_run, now, copies, units)
        else:
            _install(board, tree, (wanted, roles), dry_run, replace, copies, units)


def _first_words(board, kind):
    from tuner import link_boards

    return board.told("version") if kind == "loamstat" else link_boards.KINDS[kind]


def _planned(board, tree, wanted, units):
    """Return what a running board holds, the Plan for it, and the units to tell them in."""
    from tuner import link_copy, link_plan

    held = link_copy.read(board)
    units = units or held.wiring["units"]
    return held, link_plan.plan(board, held, tree, link_plan.Wish(wanted[0], roles=wanted[1], units=units)), units


def _bring(board, tree, wanted, dry_run, now, copies, units):
    """Bring a running board up to date."""
    from tuner import link_copy, link_flash, link_plan
    from tuner.commands import progress

    held, plan, units = _planned(board, tree, wanted, units)
    for line in plan.lines:
        click.echo("  " + line)
    if held.state["safe"]:
        click.echo("The board is in its safe loop: flashing goes on, but find the cause, then cycle the power.")
    if dry_run:
        click.echo("Nothing was written.")
        return
    if plan.slot:
        link_plan.refuse_frost(held.state, now)
    if not plan.nothing:
        click.echo(f"What was on it is kept in {link_copy.keep(copies, held, board.told('version'))}")
    bar = progress.bytes_bar("sending")
    link_flash.flash(board, held, plan, tree, click.echo, bar, units)


def _install(board, tree, wanted, dry_run, replace, copies, units):
    """Put loamstat on a board where none runs, then bring its settings up to date."""
    from tuner import link_first, link_flash
    from tuner.commands import progress

    bar = progress.bytes_bar("sending")
    go = link_first.First(board, tree, click.echo, bar)
    runs = go.guarded(go.install, replace, copies, dry_run)
    if runs is None:
        click.echo("Nothing was written.")
        return
    click.echo(f"loamstat {runs.number} runs from slot {runs.slot}.")
    held, plan, units = _planned(board, tree, wanted, units)
    link_flash.flash(board, held, plan, tree, click.echo, bar, units)
    if not plan.roles and not held.roles:
        click.echo("Next: say which probe is which (find and roles on the console), and what is fitted (wiring).")


def _roll_back(board, kind, tree, now, units):
    """Return to the version before."""
    from tuner import link_first, link_flash, link_read
    from tuner.commands import progress
    from tuner.errors import LinkError

    if kind != "loamstat":
        raise LinkError("no loamstat runs on this board, so there is nothing to return to.\nFlash it: loamstat flash")
    runs = link_first.rollback(board, tree, click.echo, progress.bytes_bar("sending"), now)
    click.echo(f"loamstat {runs.number} runs from slot {runs.slot} again. Settings stay; older ones are in the copies.")
    link_flash.set_clock(board, click.echo)
    if runs.tree == tree.name:
        link_flash.Flash(board, tree, click.echo, None).prove()
    else:
        click.echo("It is not this program's version, so its decisions were not compared.")
    link_flash.status(board, click.echo, units or link_read.wiring(board)["units"])
