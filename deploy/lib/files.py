"""Do the deployment files fit the project? Scripts parse, what they name is there, and the settings know each variable.

python -m deploy.lib.files
"""

import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).resolve().parents[2]
DEPLOY = ROOT / "deploy"
READ_BY_COMPOSE = {"POSTGRES_PASSWORD"}
READ_BY_PYTEST = {"PYTEST_ADDOPTS", "DJANGO_SETTINGS_MODULE"}


def settings_variables() -> set[str]:
    """Every variable of the environment that deploy/settings.py reads."""
    reads = r'(?:environ\.get\(|environ\[|_flag\(|_words\()\s*"([A-Z0-9_]+)"'
    return set(re.findall(reads, (DEPLOY / "settings.py").read_text()))


def script_problems() -> list[str]:
    bash = shutil.which("bash") or "bash"
    scripts = [*(DEPLOY / name for name in ("backup", "check", "demo", "restore")), *DEPLOY.glob("lib/*.sh")]
    checked = {path: subprocess.run([bash, "-n", str(path)], capture_output=True, check=False) for path in scripts}
    return [f"{path.name}: {done.stderr.decode().strip()}" for path, done in checked.items() if done.returncode]


def environment_problems() -> list[str]:
    named = set(re.findall(r"^(?:# )?([A-Z][A-Z0-9_]+)=", (DEPLOY / ".env.example").read_text(), re.MULTILINE))
    unknown = named - settings_variables() - READ_BY_COMPOSE
    return [f".env.example: deploy/settings.py does not read {name}" for name in sorted(unknown)]


def image_problems() -> list[str]:
    copied = re.findall(r"^COPY (.+) \S+$", (DEPLOY / "Dockerfile").read_text(), re.MULTILINE)
    sources = [source for line in copied for source in line.split()]
    return [f"Dockerfile: there is no {source}" for source in sources if not (ROOT / source).exists()]


def compose_problems() -> list[str]:
    services: dict[str, Any] = yaml.safe_load((DEPLOY / "compose.yaml").read_text())["services"]
    known = settings_variables()
    lines = []
    for name, service in services.items():
        if service["image"] == "fencerow":
            lines += [f"{name}: the settings do not read {each}" for each in set(service["environment"]) - known]
        lines += [
            f"{name}: waits for {each}, which is no service"
            for each in set(service.get("depends_on", ())) - set(services)
        ]
        mounted = [volume.split(":")[0] for volume in service.get("volumes", ())]
        lines += [
            f"{name}: there is no {each}" for each in mounted if each.endswith(".conf") and not (DEPLOY / each).exists()
        ]
    return [f"compose.yaml: {line}" for line in lines]


if __name__ == "__main__":
    found = [*script_problems(), *environment_problems(), *image_problems(), *compose_problems()]
    print("\n".join(found) or "The deployment files fit the project.")
    sys.exit(bool(found))
