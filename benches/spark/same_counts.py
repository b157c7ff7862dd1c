"""`asleft check` as a filter under Spark: what it counts there is what one process counts.

    python benches/spark/same_counts.py ASLEFT FLEET.ndjson... [--partitions 2,8,32]

Needs pyspark 4 from PyPI and Java 17. `local-cluster[2,1,1024]` starts two executors of one core each as
processes of their own, which take their tasks and give back their answers over sockets, as those of a
cluster would. Exits 1 where a count differs.
"""

import argparse
import collections
import json
import os
import subprocess
import sys
import time

from pyspark import SparkConf, SparkContext

DAY = "2026-11-25"
# Whether a site complies is in its line, so 1 (does not comply) and 2 (some line could not be judged)
# are answers and no failures. Any other code is one: Spark then tries the partition again.
FILTER = "sh -c '\"$ASLEFT\" check - --format ndjson --jobs 1 --as-of %s; test $? -le 2'" % DAY


def counted(lines):
    """Sites by verdict, and by finding."""
    counts = collections.Counter()
    for line in lines:
        site = json.loads(line)
        counts[("sites", site["verdict"])] += 1
        counts.update({("finding", finding["outcome"], finding["name"]) for finding in site["findings"]})
    return counts


def by_one_process(asleft, fleet):
    """The counts, and how long the answer took."""
    command = [asleft, "check", fleet, "--format", "ndjson", "--jobs", "2", "--as-of", DAY]
    begun = time.monotonic()
    subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    took = time.monotonic() - begun
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as child:
        return counted(child.stdout), took


def by_cluster(context, asleft, fleet, partitions):
    """The same, partition by partition."""
    begun = time.monotonic()
    lines = context.textFile(fleet, partitions)
    told = lines.pipe(FILTER, {"ASLEFT": asleft, "PATH": os.environ["PATH"]}, checkCode=True)
    counts = told.mapPartitions(lambda part: [counted(part)]).reduce(lambda one, other: one + other)
    return counts, lines.getNumPartitions(), time.monotonic() - begun


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("asleft", type=os.path.abspath)
    arguments.add_argument("fleets", nargs="+", type=os.path.abspath)
    arguments.add_argument("--partitions", default="2,8,32")
    arguments = arguments.parse_args()

    # the executors unpickle what is counted with, and start the same Python
    os.environ.setdefault("PYSPARK_PYTHON", sys.executable)
    os.environ.setdefault("SPARK_LOCAL_IP", "127.0.0.1")
    begun = time.monotonic()
    conf = SparkConf().setMaster("local-cluster[2,1,1024]").setAppName("asleft").set("spark.ui.enabled", "false").set("spark.ui.showConsoleProgress", "false")
    context = SparkContext(conf=conf)
    context.setLogLevel("ERROR")
    context.parallelize(range(2), 2).count()
    print(f"start of the cluster: {time.monotonic() - begun:.1f} s")

    print(f"{'sites':>9}{'partitions':>12}{'one process':>13}{'cluster':>10}{'ratio':>7}")
    differ = False
    for fleet in arguments.fleets:
        alone, took = by_one_process(arguments.asleft, fleet)
        sites = sum(count for key, count in alone.items() if key[0] == "sites")
        for partitions in map(int, arguments.partitions.split(",")):
            spread, partitions, cluster = by_cluster(context, arguments.asleft, fleet, partitions)
            print(f"{sites:9}{partitions:12}{took:11.2f} s{cluster:8.2f} s{cluster / took:7.1f}", flush=True)
            for key in sorted(alone.keys() | spread.keys()):
                if alone[key] != spread[key]:
                    differ = True
                    print(f"DIFFERS  {' '.join(key)}: {alone[key]} by one process, {spread[key]} by the cluster")
    for key, count in sorted(alone.items()):
        print(f"  {count:9}  {' '.join(key)}")
    print("counts differ" if differ else "the counts are the same")
    context.stop()
    sys.exit(differ)


main()
