"""Audits an archive on Apache Spark: the lines of each patient go through one
program, and the rows are written into a folder.

    python audit_job.py LINES PROGRAM ROWS PARTITIONS

LINES is what `runsheet audit DIR... --lines` writes; `runsheet audit --merge
ROWS/part-*` then adds the rows up. With FAIL=FOLDER in the environment the first
task that runs is lost after it has written a row, and one partition runs again
and its rows stand there twice.
"""

import json
import os
import subprocess
import sys
import tempfile
import zlib

from pyspark.sql import SparkSession

lines, program, rows, partitions = sys.argv[1:4] + [int(sys.argv[4])]
fail = os.environ.get("FAIL")


def key(text):
    """By this lines are sorted; all of a patient go to one partition."""
    line = json.loads(text)
    return line.get("patient", ""), line.get("export", ""), line.get("file", "")


def lose():
    """Reports once, and to one task only, that it is to be lost."""
    try:
        os.mkdir(os.path.join(fail, "lost"))
        return True
    except FileExistsError:
        return False


def shard(pairs):
    """Writes the lines of a partition to the program, and yields its rows."""
    with tempfile.TemporaryFile() as out:
        task = subprocess.Popen([program, "audit", "--shard", "-", "--jobs", "1"], stdin=subprocess.PIPE, stdout=out)
        for _, text in pairs:
            task.stdin.write(text.encode() + b"\n")
        task.stdin.close()
        if task.wait() != 0:
            raise RuntimeError(f"audit --shard: exit code {task.returncode}")
        out.seek(0)
        for n, row in enumerate(out):
            yield row.decode().rstrip("\n")
            if fail and n == 0 and lose():
                raise RuntimeError("this task is lost")


spark = SparkSession.builder.getOrCreate()
of_patients = spark.sparkContext.textFile(lines).map(lambda text: (key(text), text)).repartitionAndSortWithinPartitions(
    partitions, lambda k: zlib.crc32(k[0].encode()))
done = of_patients.mapPartitions(shard)
if fail:
    again = of_patients.mapPartitionsWithIndex(lambda i, pairs: shard(pairs) if i == 0 else [])
    done = done.union(again)
done.saveAsTextFile(rows)
spark.stop()
