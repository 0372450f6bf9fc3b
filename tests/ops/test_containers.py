"""The container files, as far as they can be judged without a container engine."""

import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from config.env import Environment, database_from_url
from script.processes import PROCESSES
from tests.ops.running import ROOT

COMPOSE: dict[str, Any] = yaml.safe_load((ROOT / "docker-compose.yml").read_text())
SERVICES: dict[str, Any] = COMPOSE["services"]
OURS = ["prepare", "web", "worker", "scheduler"]
DOCKERFILE = (ROOT / "Dockerfile").read_text()


def test_the_services_are_our_processes_and_their_database_and_broker() -> None:
    assert set(SERVICES) == {*OURS, "postgres", "redis"}
    assert set(OURS) == set(PROCESSES)


@pytest.mark.parametrize("name", OURS)
def test_each_of_ours_runs_the_process_of_its_name(name: str) -> None:
    service = SERVICES[name]
    assert service["command"][0] == name
    assert "entrypoint" not in service
    assert 'ENTRYPOINT ["python", "-m", "script.processes"]' in DOCKERFILE


def test_only_processes_that_keep_running_are_restarted_always() -> None:
    assert SERVICES["prepare"]["restart"] == "on-failure"
    assert {SERVICES[name]["restart"] for name in SERVICES if name != "prepare"} == {"unless-stopped"}


@pytest.mark.parametrize("name", ["web", "worker", "scheduler"])
def test_tables_are_up_to_date_before_anything_starts(name: str) -> None:
    wanted = SERVICES[name]["depends_on"]
    assert wanted["prepare"]["condition"] == "service_completed_successfully"
    assert wanted["redis"]["condition"] == "service_healthy"


@pytest.mark.parametrize("name", [name for name in SERVICES if name != "prepare"])
def test_every_lasting_service_has_a_health_check(name: str) -> None:
    check = SERVICES[name]["healthcheck"]
    assert check["test"][0] == "CMD"
    if name in OURS:
        assert check["test"][1:] == ["python", "-m", "script.ask", name]


@pytest.mark.parametrize("name", OURS)
def test_every_setting_given_is_one_that_is_read(name: str) -> None:
    from django.conf import settings

    assert set(SERVICES[name]["environment"]) <= settings.ENVIRONMENT_NAMES


@pytest.mark.parametrize("name", SERVICES)
def test_volumes_and_secrets_named_are_declared(name: str) -> None:
    volumes = {volume.split(":")[0] for volume in SERVICES[name].get("volumes", [])}
    assert volumes <= set(COMPOSE["volumes"])
    assert set(SERVICES[name].get("secrets", [])) <= set(COMPOSE["secrets"])


def test_the_addresses_name_services_of_this_file() -> None:
    given = SERVICES["web"]["environment"]
    database = database_from_url(given["BURNLINE_DATABASE_URL"], "BURNLINE_DATABASE_URL")
    assert (database["HOST"], database["USER"]) == (
        "postgres",
        SERVICES["postgres"]["environment"]["POSTGRES_USER"],
    )
    assert database["NAME"] == SERVICES["postgres"]["environment"]["POSTGRES_DB"]
    assert re.fullmatch(r"redis://redis:\d+/\d+", given["BURNLINE_BROKER_URL"])


def test_no_password_is_written_down_and_only_the_web_port_is_open() -> None:
    text = (ROOT / "docker-compose.yml").read_text()
    assert not re.search(r"PASSWORD: ", text)
    assert [name for name in SERVICES if "ports" in SERVICES[name]] == ["web"]
    assert "127.0.0.1" in SERVICES["web"]["ports"][0]


def test_defaults_of_the_variables_are_values_the_settings_take() -> None:
    values = {
        key: re.sub(r"\$\{\w+:-([^}]*)\}", r"\1", str(value))
        for key, value in SERVICES["web"]["environment"].items()
    }
    env = Environment(values)
    assert env.boolean("BURNLINE_TLS", default=True) is False
    assert env.boolean("BURNLINE_BEHIND_PROXY", default=True) is False
    assert env.words("BURNLINE_HOSTS") == ["localhost", "127.0.0.1"]


def test_the_image_copies_every_package_and_runs_as_nobody_special() -> None:
    copied = set(re.findall(r"^COPY (\w+)(?:\.py)? ", DOCKERFILE, re.MULTILINE))
    packages = {path.parent.name for path in ROOT.glob("*/__init__.py")} - {"tests"}
    assert packages | {"templates", "static", "manage"} <= copied
    allowed = {line[1:] for line in (ROOT / ".dockerignore").read_text().splitlines() if line[:1] == "!"}
    assert packages | {"templates", "static", "manage.py", "requirements.txt"} == allowed
    after_last_stage = DOCKERFILE.rpartition("FROM ")[2]
    assert re.search(r"^USER burnline$", after_last_stage, re.MULTILINE)
    assert Path(ROOT / "requirements.txt").exists()
    assert "--require-hashes" in DOCKERFILE
