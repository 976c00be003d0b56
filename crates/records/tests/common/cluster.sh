# A PostgreSQL of its own in a new folder, at a socket there and at a port of this computer,
# with a certificate of its own making. Obeys the lines of its input: start, stop, kill (-9,
# the server itself), backend (-9, the workers of handline), and answers each with a line.
# It stops and is gone when its input ends, however its writer ended.
set -eu
port=$1
newest=$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -n 1)
PATH=${newest:+$newest:}$PATH
folder=$(mktemp -d /tmp/handline-postgres-XXXXXX)
data=$folder/data
trap 'pg_ctl -D "$data" stop -m immediate -s || true; rm -rf "$folder"' EXIT
trap 'exit 1' INT TERM HUP

ask() { psql -qAt -h "$folder" -p "$port" -U handline -d "$@"; }

alive() { ! grep -qs '^State:.Z' "/proc/$server/status" && kill -0 "$server" 2>/dev/null; }

start() {
    # Killed, its workers take a moment to notice, and until then it does not start anew.
    for try in $(seq 100); do
        postgres -D "$data" -p "$port" -k "$folder" -c listen_addresses=127.0.0.1 \
            -c max_connections=100 -c ssl=on >&2 &
        server=$!
        until pg_isready -q -h "$folder" -p "$port" -U handline -d postgres; do
            alive || break
            sleep 0.05
        done
        alive && return
        wait "$server" || true
        sleep 0.1
    done
    exit 1
}

certify() {
    cd "$folder"
    openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 \
        -subj "/CN=invented root" -keyout root.key -out root.pem
    openssl req -new -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes \
        -subj "/CN=localhost" -keyout "$data/server.key" -out server.csr
    printf 'subjectAltName=DNS:localhost\nbasicConstraints=CA:FALSE\n' >server.ext
    openssl x509 -req -in server.csr -CA root.pem -CAkey root.key -CAcreateserial -days 2 \
        -extfile server.ext -out "$data/server.crt"
    chmod 600 "$data/server.key"
}

initdb -D "$data" -U handline -A trust -E UTF8 --locale=C.UTF-8 --no-sync >&2
certify >&2 2>&1
# Into the database "guarded" only with a password.
{ echo 'host guarded all all scram-sha-256'; cat "$data/pg_hba.conf"; } >"$folder/hba"
cat "$folder/hba" >"$data/pg_hba.conf"
start
ask postgres -c 'CREATE DATABASE handline' -c "CREATE ROLE keeper LOGIN PASSWORD 'hush-hush'" \
    -c 'CREATE DATABASE guarded OWNER keeper' >&2
echo "$folder"
while read -r word; do
    case $word in
        start) start ;;
        stop) pg_ctl -D "$data" stop -m fast -s ;;
        kill) kill -9 "$server"; wait "$server" || true ;;
        backend)
            ask postgres -c "SELECT pid FROM pg_stat_activity WHERE application_name = 'handline'" |
                while read -r pid; do kill -9 "$pid" || true; done
            # It recovers by itself.
            until ask postgres -c 'SELECT 1' >/dev/null 2>&1; do sleep 0.05; done
            ;;
    esac
    echo "$word done"
done
