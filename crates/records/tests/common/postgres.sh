# A PostgreSQL of its own in a new folder. Says the folder once it answers there;
# stops and is gone when its input ends, however its reader ended.
set -eu
newest=$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -n 1)
PATH=${newest:+$newest:}$PATH
folder=$(mktemp -d /tmp/handline-postgres-XXXXXX)
trap 'pg_ctl -D "$folder/data" stop -m immediate -s || true; rm -rf "$folder"' EXIT
trap 'exit 1' INT TERM HUP
initdb -D "$folder/data" -U handline -A trust -E UTF8 --locale=C.UTF-8 --no-sync >&2
postgres -D "$folder/data" -k "$folder" -c listen_addresses= -c fsync=off \
    -c max_connections=300 >&2 &
server=$!
until pg_isready -q -h "$folder" -U handline -d postgres; do
    kill -0 "$server"
    sleep 0.05
done
echo "$folder"
cat >/dev/null
