"""Screening on a cluster whose machines show certificates: as samples/README.md tells it, and with the wrong ones."""

from __future__ import annotations

import datetime
import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

pytest.importorskip("distributed")
x509 = pytest.importorskip("cryptography.x509")

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "samples"
LISTINGS = (
    "claim.capacity_ah,claim.series,claim.parallel,claim.cell_marking\n" + "12,13,4,LYR 18650-26\n" * 40
)
REFUSED_SECONDS = 8
"""How long a worker that is turned away is given, to be sure that it does not come."""


def certificates(folder: Path) -> Path:
    """Make an authority and a certificate that it has signed; names as in samples/README.md."""
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import NameOID

    folder.mkdir()
    now = datetime.datetime.now(datetime.UTC)
    names = [x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)]) for name in ("bench", "machine")]
    keys = [ec.generate_private_key(ec.SECP256R1()) for _ in names]
    identifier = x509.SubjectKeyIdentifier.from_public_key(keys[0].public_key())
    for name, key, file in zip(names, keys, ("authority", "machine"), strict=True):
        authority = file == "authority"
        built = (
            x509.CertificateBuilder()
            .subject_name(name)
            .issuer_name(names[0])
            .public_key(key.public_key())
            .serial_number(x509.random_serial_number())
            .not_valid_before(now - datetime.timedelta(days=1))
            .not_valid_after(now + datetime.timedelta(days=1))
            .add_extension(x509.BasicConstraints(ca=authority, path_length=None), critical=True)
            .add_extension(
                identifier if authority
                else x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(identifier),
                critical=False,
            )
        )  # fmt: skip
        if authority:
            usage = dict.fromkeys(
                ("digital_signature", "content_commitment", "key_encipherment", "data_encipherment",
                 "key_agreement", "encipher_only", "decipher_only"), False,
            )  # fmt: skip
            built = built.add_extension(
                x509.KeyUsage(**usage, key_cert_sign=True, crl_sign=True), critical=True
            )
        signed = built.sign(keys[0], hashes.SHA256())
        (folder / f"{file}.pem").write_bytes(signed.public_bytes(serialization.Encoding.PEM))
        (folder / f"{file}-key.pem").write_bytes(
            key.private_bytes(
                serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
            )
        )
    return folder


def shown(folder: Path) -> list[str]:
    """Return the options by which a scheduler or a worker shows its certificate."""
    return [
        "--tls-ca-file", str(folder / "authority.pem"), "--tls-cert", str(folder / "machine.pem"),
        "--tls-key", str(folder / "machine-key.pem"),
    ]  # fmt: skip


@contextmanager
def started(module: str, *words: str) -> Iterator[None]:
    """Run a scheduler or a worker as long as the block lasts."""
    process = subprocess.Popen(
        [sys.executable, "-m", f"distributed.cli.dask_{module}", *words, "--no-dashboard"],
        cwd="/", env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        yield
    finally:
        process.kill()
        process.wait()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The certificates of one bench."""
    return certificates(tmp_path_factory.mktemp("tls") / "bench")


@pytest.fixture(scope="module")
def strangers(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Certificates of the same names by another authority."""
    return certificates(tmp_path_factory.mktemp("tls") / "strangers")


@pytest.fixture
def scheduler(folder: Path, tmp_path: Path) -> Iterator[str]:
    """A scheduler that takes certificates of the bench only; its address."""
    told = tmp_path / "scheduler.json"
    words = ["--protocol", "tls", "--host", "127.0.0.1", "--port", "0", "--scheduler-file", str(told)]
    with started("scheduler", *words, *shown(folder)):
        ends = time.monotonic() + 60
        while not (told.exists() and told.read_text()):
            assert time.monotonic() < ends, "the scheduler did not start"
            time.sleep(0.1)
        yield str(json.loads(told.read_text())["address"])


def screened(out: Path, address: str | None, folder: Path | None) -> subprocess.CompletedProcess[str]:
    """Run ``packclaim screen`` as its user does, the certificates named by variables."""
    variables = {} if folder is None else {
        "DASK_DISTRIBUTED__COMM__TLS__CA_FILE": str(folder / "authority.pem"),
        "DASK_DISTRIBUTED__COMM__TLS__CLIENT__CERT": str(folder / "machine.pem"),
        "DASK_DISTRIBUTED__COMM__TLS__CLIENT__KEY": str(folder / "machine-key.pem"),
    }  # fmt: skip
    cluster = [] if address is None else ["--cluster", address]
    table = out.with_name("in.csv")
    table.write_text(LISTINGS, encoding="utf-8")
    return subprocess.run(
        [sys.executable, "-m", "verifier.cli", "screen", str(table), "--out", str(out),
         "--registry", str(SAMPLES / "registry.jsonl"), *cluster],
        cwd=ROOT, env={**os.environ, **variables}, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip


def refusal(done: subprocess.CompletedProcess[str]) -> str:
    """Return the one line of a refusal."""
    assert done.returncode == 2, done.stderr
    assert done.stderr.count("\n") == 1, done.stderr
    assert "Traceback" not in done.stderr
    return done.stderr


def test_a_table_is_judged_over_certificates_as_on_one_machine(
    scheduler: str, folder: Path, tmp_path: Path
) -> None:
    """The only safe way on a shared network would not work, or judge otherwise. Rule: samples/README.md."""
    assert scheduler.startswith("tls://")
    assert screened(tmp_path / "alone.csv", None, None).returncode == 0
    with started("worker", scheduler, "--no-nanny", "--nthreads", "1", *shown(folder)):
        done = screened(tmp_path / "out.csv", scheduler, folder)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "out.csv").read_bytes() == (tmp_path / "alone.csv").read_bytes()


def test_a_worker_of_another_authority_is_given_no_work(
    scheduler: str, folder: Path, strangers: Path, tmp_path: Path
) -> None:
    """A stranger's worker would read the table and answer what it likes."""
    with started("worker", scheduler, "--no-nanny", *shown(strangers)):
        time.sleep(REFUSED_SECONDS)
        said = refusal(screened(tmp_path / "out.csv", scheduler, folder))
    assert f"the scheduler at '{scheduler}' has no workers" in said
    assert "a certificate of the same authority" in said
    assert not (tmp_path / "out.csv").exists()


def test_a_scheduler_of_another_authority_is_not_spoken_to(
    scheduler: str, strangers: Path, tmp_path: Path
) -> None:
    """A stranger's scheduler would run code on this machine, or the user be told that the network is down."""
    said = refusal(screened(tmp_path / "out.csv", scheduler, strangers))
    assert f"no scheduler at '{scheduler}' takes this certificate, or none is there" in said


def test_without_a_certificate_a_scheduler_is_not_spoken_to(scheduler: str, tmp_path: Path) -> None:
    """Without encryption the table would go over the network for anybody to read."""
    plain = scheduler.replace("tls://", "tcp://")
    assert f"no scheduler answers at '{plain}'" in refusal(screened(tmp_path / "out.csv", plain, None))


def test_certificates_that_are_not_set_are_told_in_a_line(tmp_path: Path) -> None:
    """A user who does it the safe way would be met by a traceback."""
    said = refusal(screened(tmp_path / "out.csv", "tls://127.0.0.1:1", None))
    assert "needs certificates, and DASK_DISTRIBUTED__COMM__TLS__CA_FILE is not set" in said


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda file: file.unlink(), "machine.pem: cannot be read (No such file or directory)"),
        (lambda file: file.write_text("no certificate\n"), "are no certificate, its key and its authority"),
    ],
)
def test_a_certificate_that_cannot_be_used_is_told(
    spoil: object, told: str, folder: Path, tmp_path: Path
) -> None:
    """A mistyped path would read as a scheduler that is down, and be looked for in the network."""
    mine = tmp_path / "mine"
    shutil.copytree(folder, mine)
    assert callable(spoil)
    spoil(mine / "machine.pem")
    assert told in refusal(screened(tmp_path / "out.csv", "tls://127.0.0.1:1", mine))


@pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not installed")
def test_the_commands_of_the_document_make_certificates_that_the_strictest_python_takes(
    tmp_path: Path,
) -> None:
    """Who copies the commands would have files that Python 3.13, which looks most strictly, turns away."""
    text = (SAMPLES / "README.md").read_text(encoding="utf-8")
    [commands] = [
        each for each in re.findall(r"```bash\n(.*?)```", text, re.S) if "openssl req -x509" in each
    ]
    subprocess.run(["bash", "-euc", commands], cwd=tmp_path, check=True, capture_output=True)
    subprocess.run(
        ["openssl", "verify", "-x509_strict", "-CAfile", "authority.pem", "machine.pem"],
        cwd=tmp_path, check=True, capture_output=True,
    )  # fmt: skip
