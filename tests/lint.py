#!/usr/bin/env python3
"""Runs clang-tidy over lib and tools: lint.py BUILD [files at a time]. BUILD holds compile_commands.json.

Nearly all of clang-tidy's time goes to the headers of the libraries, which it reads again for every file.
So files of one folder are judged many at a time, through a file that includes them. Where something is found,
or two helpers have one name, they are judged again by halves; what is found does not depend on it.
"""

import concurrent.futures
import json
import os
import pathlib
import shlex
import subprocess
import sys

# Only together: the file that includes the others, and what each includes again, are not findings.
TOGETHER = "--checks=-bugprone-suspicious-include,-readability-duplicate-include"


def commands(build):
    """Compile commands of lib and tools by source file."""
    source = pathlib.Path(__file__).resolve().parent.parent
    found = {}
    for entry in json.loads((build / "compile_commands.json").read_text()):
        file = pathlib.Path(entry["directory"], entry["file"]).resolve()
        if any(file.is_relative_to(source / folder) for folder in ("lib", "tools")):
            words = shlex.split(entry["command"])
            found[file] = {"directory": entry["directory"], "words": words[: words.index("-o")]}
    return found


def groups(found, size):
    """Files of one folder with the same flags, at most `size` together."""
    by_flags = {}
    for file, command in sorted(found.items()):
        by_flags.setdefault((file.parent, tuple(command["words"])), []).append(file)
    for files in by_flags.values():
        for start in range(0, len(files), size):
            yield files[start : start + size]


def tidy(database, file, *options):
    ran = subprocess.run(
        ["clang-tidy", "--quiet", "--extra-arg=-Wno-unknown-warning-option", *options, "-p", database, file],
        capture_output=True, text=True)
    return ran.returncode, ran.stdout


def judge(name, files, found, folder, build):
    """Findings in these files; empty when there are none."""
    if len(files) == 1:
        status, text = tidy(build, files[0])
        return "" if status == 0 else text
    place = folder / name
    place.mkdir(parents=True, exist_ok=True)
    together = place / "together.cpp"
    together.write_text("".join(f'#include "{file}"\n' for file in files))
    command = found[files[0]]
    (place / "compile_commands.json").write_text(json.dumps([{
        "directory": command["directory"], "file": str(together),
        "command": shlex.join([*command["words"], "-c", str(together)])}]))
    config = f"--config-file={pathlib.Path(__file__).resolve().parent.parent / '.clang-tidy'}"
    status, _ = tidy(place, together, config, TOGETHER)
    if status == 0:
        return ""
    # By halves, down to single files: what is found then names its own file, and files that clash are told apart.
    half = len(files) // 2
    return "".join(judge(f"{name}-{part}", files[begin:end], found, folder, build)
                   for part, begin, end in ((1, 0, half), (2, half, len(files))))


def main():
    build = pathlib.Path(sys.argv[1]).resolve()
    size = int(sys.argv[2]) if len(sys.argv) > 2 else 60
    found = commands(build)
    if not found:
        sys.exit("no compile command of lib or tools: configure with CMAKE_EXPORT_COMPILE_COMMANDS")
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as workers:
        jobs = [workers.submit(judge, str(number), files, found, build / "lint", build)
                for number, files in enumerate(sorted(groups(found, size), key=len, reverse=True))]
        text = "".join(job.result() for job in jobs)
    sys.stdout.write(text)
    print(f"{len(found)} files in {len(jobs)} groups: {'findings above' if text else 'nothing found'}")
    sys.exit(1 if text else 0)


main()
