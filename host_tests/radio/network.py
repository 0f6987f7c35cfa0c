"""A real broker on this machine, and certificates for it."""

import subprocess
from pathlib import Path

from mosquitto import Mosquitto, free_port

RIG = "sill"
PASSWORD = "a password for tests only"


def keys_for(port, **more):
    """The table `radio` of settings for the broker at this port."""
    own = {"wifi_ssid": "sill", "broker_host": "127.0.0.1", "broker_port": port}
    return {**own, "broker_user": RIG, "broker_key": PASSWORD, **more}


class Broker(Mosquitto):
    """One that lets in the rig and the station by password; TLS where certificate files (certificate, key) are given:
    then whoever is no rig comes in without it, at plain_port."""

    def __init__(self, folder, tls=None, acl=""):
        folder = Path(folder)
        self.user, self.password = RIG, PASSWORD
        words = folder / "passwords"
        words.write_text("")
        words.chmod(0o700)
        for user in (RIG, "station"):
            subprocess.run(["mosquitto_passwd", "-b", str(words), user, PASSWORD], check=True, capture_output=True)
        access = ["allow_anonymous false", f"password_file {words}"]
        if acl:
            (folder / "acl").write_text(acl)
            access.append(f"acl_file {folder / 'acl'}")
        plain = free_port()
        # What stands below a listener is the listener's; the first one is the rig's.
        secured = [f"certfile {tls[0]}", f"keyfile {tls[1]}", f"listener {plain} 127.0.0.1"] if tls else []
        super().__init__(folder, [*secured, *access], keeps=False)
        self.plain_port = plain if tls else self.port


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
