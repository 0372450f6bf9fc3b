# Sets $python to a Python that Burnline runs on, or says in one sentence that there is none.
# Sourced by script/server and script/test; $command is what to run again.

python=
newest=
for candidate in ${BURNLINE_PYTHON:-python3.11 python3.12 python3.13 python3.14 python3 python}; do
    # A name may be found and still not run, as with version managers: ask it.
    version=$("$candidate" -c 'import sys; print("%d.%d" % sys.version_info[:2])' 2>/dev/null) || continue
    case $version in
        3.[0-9] | 3.10 | [0-2].*) newest=${newest:-$version} ;;
        3.*) python=$candidate; break ;;
    esac
done
if [ -z "$python" ]; then
    if [ -n "$newest" ]; then found="found here is only Python $newest"; else found="none was found here"; fi
    echo "Burnline needs Python 3.11 or newer, and $found; install one, or name it:" \
        "BURNLINE_PYTHON=/path/to/python3.11 $command" >&2
    exit 1
fi
