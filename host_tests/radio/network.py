"""A real broker on this machine, and certificates for it."""

import contextlib
import shutil
import socket
import subprocess
import time
from pathlib import Path

RIG = "sill"
PASSWORD = "a password for tests only"
MOSQUITTO = shutil.which("mosquitto") or "/usr/sbin/mosquitto"


def keys_for(port, **more):
    """The table `radio` of settings for the broker at this port."""
    own = {"wifi_ssid": "sill", "broker_host": "127.0.0.1", "broker_port": port}
    return {**own, "broker_user": RIG, "broker_key": PASSWORD, **more}


def free_port():
    with socket.socket() as sock:
        sock.bind(("127.0.0.1", 0))
        return sock.getsockname()[1]


class Broker:
    """mosquitto with one user; TLS where certificate files (certificate, key) are given."""

    def __init__(self, folder, tls=None, acl=""):
        self.folder = Path(folder)
        self.port = free_port()
        self.user, self.password = RIG, PASSWORD
        words = self.folder / "passwords"
        words.write_text("")
        words.chmod(0o700)
        for user in (RIG, "station"):
            subprocess.run(["mosquitto_passwd", "-b", str(words), user, PASSWORD], check=True, capture_output=True)
        # Whoever is no rig may come in without TLS.
        self.plain_port = free_port() if tls else self.port
        lines = [f"listener {self.plain_port} 127.0.0.1"] if tls else []
        lines += [f"listener {self.port} 127.0.0.1", "allow_anonymous false", f"password_file {words}", "user root"]
        if tls:
            lines += [f"certfile {tls[0]}", f"keyfile {tls[1]}"]
        if acl:
            (self.folder / "acl").write_text(acl)
            lines.append(f"acl_file {self.folder / 'acl'}")
        (self.folder / "mosquitto.conf").write_text("\n".join(lines) + "\n")
        self.process = None

    def start(self):
        self.process = subprocess.Popen(
            [MOSQUITTO, "-c", str(self.folder / "mosquitto.conf")], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        for _ in range(500):
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 1):
                return self
            time.sleep(0.01)
        raise RuntimeError("mosquitto does not start")

    def stop(self, kill=False):
        if self.process:
            self.process.kill() if kill else self.process.terminate()
            self.process.wait()
            self.process = None

    def __enter__(self):
        return self.start()

    def __exit__(self, *fault):
        self.stop()


def certificates(folder, days=3650, name="127.0.0.1", begin=None):
    """(ca in DER, certificate file, key file): P-256, a chain of one."""
    import datetime
    import ipaddress

    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import NameOID

    begin = begin or datetime.datetime(2024, 6, 1, tzinfo=datetime.UTC)

    def make(subject, issuer, key, signer, ca):
        built = (
            x509.CertificateBuilder()
            .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, subject)]))
            .issuer_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, issuer)]))
            .public_key(key.public_key())
            .serial_number(x509.random_serial_number())
            .not_valid_before(begin)
            .not_valid_after(begin + datetime.timedelta(days))
            .add_extension(x509.BasicConstraints(ca, None), True)
        )
        if not ca:
            built = built.add_extension(
                x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address(name))]), False
            )
        return built.sign(signer, hashes.SHA256())

    root_key, key = ec.generate_private_key(ec.SECP256R1()), ec.generate_private_key(ec.SECP256R1())
    root = make("test authority", "test authority", root_key, root_key, True)
    own = make("broker", "test authority", key, root_key, False)
    folder = Path(folder)
    (folder / "broker.pem").write_bytes(own.public_bytes(serialization.Encoding.PEM))
    (folder / "broker.key").write_bytes(
        key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    )
    return root.public_bytes(serialization.Encoding.DER), folder / "broker.pem", folder / "broker.key"
