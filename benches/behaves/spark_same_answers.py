"""`asleft behaves --fleet` under Spark: what a cluster says of each device is what one process says.

    python benches/behaves/spark_same_answers.py ASLEFT FOLDER [--partitions 2,8]

FOLDER is one that `made.py --csv` wrote. Needs pyspark 4 from PyPI and Java 17. `local-cluster[2,1,1024]` starts two
executors of one core each as processes of their own. Spark reads the Parquet file and lays whole sites, each in order of
time, into as many files as there are partitions; then one task a file has the program read it by its path and gives back
its lines. One process reads the CSV file. Ends with 1 where the lines of a device differ.
"""

import argparse
import glob
import json
import os
import shutil
import subprocess
import sys
import time

from pyspark import SparkConf
from pyspark.sql import SparkSession

ASKED = ["--measured-at", "terminals", "--q-positive", "supplies", "--accuracy", "V 0.5 %, P 1 %, Q 1.5 %", "--as-of", "2026-11-25", "--format", "ndjson"]


def judged(asleft, sites, log):
    """The lines of one process, which ends with 0 to 2 where it answered; any other code fails the task."""
    done = subprocess.run([asleft, "behaves", "--fleet", sites, log, *ASKED], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    if done.returncode > 2:
        raise RuntimeError(f"{log}: ended with {done.returncode}")
    return done.stdout.decode().splitlines()


def by_site(lines):
    """Each device's line without what names its file; sites without a log in one file have one in another."""
    lines = (json.loads(line) for line in lines)
    return {(line["site"], line.get("device")): {**line, "log": None} for line in lines if line["answer"] != "no-log"}


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("asleft", type=os.path.abspath)
    arguments.add_argument("folder", type=os.path.abspath)
    arguments.add_argument("--partitions", default="2,8")
    arguments = arguments.parse_args()
    asleft, sites, logs = arguments.asleft, f"{arguments.folder}/sites.ndjson", f"{arguments.folder}/logs.parquet"
    as_csv = f"{arguments.folder}/logs.csv"

    os.environ.setdefault("PYSPARK_PYTHON", sys.executable)
    os.environ.setdefault("SPARK_LOCAL_IP", "127.0.0.1")
    begun = time.monotonic()
    conf = SparkConf().setMaster("local-cluster[2,1,1024]").setAppName("asleft").set("spark.ui.enabled", "false").set("spark.ui.showConsoleProgress", "false")
    spark = SparkSession.builder.config(conf=conf).config("spark.sql.session.timeZone", "UTC").getOrCreate()
    spark.sparkContext.setLogLevel("ERROR")
    print(f"start of the cluster: {time.monotonic() - begun:.1f} s")

    begun = time.monotonic()
    alone = by_site(judged(asleft, sites, as_csv))
    took, differ = time.monotonic() - begun, 0
    print(f"{'devices':>9}{'files':>7}{'one process':>13}{'laid out':>11}{'judged':>9}")
    for partitions in map(int, arguments.partitions.split(",")):
        laid = f"{arguments.folder}/laid-{partitions}"
        shutil.rmtree(laid, ignore_errors=True)
        begun = time.monotonic()
        rows = spark.read.parquet(logs)
        rows.repartition(partitions, "site").sortWithinPartitions("site", "time").write.option("header", True).csv(laid)
        laid_out = time.monotonic() - begun
        files = sorted(glob.glob(f"{laid}/*.csv"))
        begun = time.monotonic()
        lines = spark.sparkContext.parallelize(files, len(files)).flatMap(lambda file: judged(asleft, sites, file)).collect()
        judging, spread = time.monotonic() - begun, by_site(lines)
        print(f"{len(spread):9}{len(files):7}{took:11.1f} s{laid_out:9.1f} s{judging:7.1f} s", flush=True)
        for device in sorted(alone.keys() | spread.keys(), key=str):
            if alone.get(device) != spread.get(device):
                differ += 1
                print(f"DIFFERS  {device}")
    spark.stop()
    departs = sum(line["answer"] == "departs" for line in alone.values())
    print(f"{len(alone)} devices, {departs} depart: " + ("lines differ" if differ else "every line is the same"))
    sys.exit(bool(differ))


main()
