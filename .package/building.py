"""How the package is put together: every folder below the floors that holds an `__init__.py` is found and taken along.

pyproject names the floors, which lie beside one another in the repository and install under one name; setuptools' own
finding cannot put a name before what it finds. Used by setuptools alone.
"""

from __future__ import annotations

from setuptools import find_packages
from setuptools.command.build_py import build_py


class BuildPy(build_py):
    """`build_py` with the packages of every floor."""

    def finalize_options(self) -> None:
        super().finalize_options()
        found = list(self.packages or [])
        for package, folder in sorted((self.distribution.package_dir or {}).items()):
            if package in found:
                found += [f"{package}.{name}" for name in find_packages(folder)]
        self.packages = list(dict.fromkeys(found))
