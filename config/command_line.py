"""Every command: `python3 manage.py` in the folder, `rehome` where Rehome is installed as a package."""

import os
import sys


def main() -> int:
    """Run the command that was typed; what is wrong with the machine is said in one line."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    usual = os.umask(0o077)  # what Rehome keeps is its owner's alone
    try:
        import django
        from django.core.exceptions import ImproperlyConfigured
        from django.core.management import execute_from_command_line
    except ImportError:
        print('Rehome is not installed in this environment: pip install -e "."', file=sys.stderr)
        return 1
    try:
        django.setup()
        from django.conf import settings

        from inventory import faults, installation

        settings.USUAL_UMASK = usual
    except ImproperlyConfigured as error:
        print(f"a setting is wrong: {error}", file=sys.stderr)
        return 1
    arguments = sys.argv[1:]
    try:
        asks = not arguments or not {"-h", "--help", "--version"}.isdisjoint(arguments)
        installation.check("help" if asks else arguments[0])
        execute_from_command_line(sys.argv)
        sys.stdout.flush()
    except BrokenPipeError:  # the reader of our output has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 141
    except KeyboardInterrupt:
        return 130
    except Exception as error:
        fault = faults.fault_of(error)
        if fault is None:
            raise
        reason = "" if isinstance(error, installation.Unfit) else f" ({str(error).splitlines()[0]})"
        print(f"{fault.detail}{reason}", file=sys.stderr)
        return 1
    return 0
