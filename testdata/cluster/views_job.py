"""Evaluates the views of a FHIR package with Pathling, on Apache Spark, over a
folder of NDJSON, one file a type, and prints their rows as JSON by the id of the
view, as testdata/oracle/views.mjs does.

    python views_job.py JAR VIEWS FOLDER
"""

import glob
import json
import sys

from pathling import PathlingContext
from pyspark.sql import SparkSession

jar, views, folder = sys.argv[1:4]
spark = (
    SparkSession.builder.master("local[2]")
    .config("spark.jars", jar)
    .config("spark.driver.memory", "3g")
    .config("spark.ui.enabled", "false")
    .config("spark.sql.session.timeZone", "UTC")
    # Spark 4.0.1 loses all rows where two columns are of one element, such as the
    # start and the end of a period, unless this is off.
    .config("spark.sql.optimizer.nestedSchemaPruning.enabled", "false")
    .getOrCreate()
)
spark.sparkContext.setLogLevel("ERROR")
data = PathlingContext.create(spark, enable_extensions=True).read.ndjson(folder)
rows = {}
for path in sorted(glob.glob(views + "/*.json")):
    with open(path, encoding="utf-8") as file:
        view = json.load(file)
    found = data.view(resource=view["resource"], json=json.dumps(view)).collect()
    # It gives decimals as text.
    rows[view["id"]] = [
        {name: float(v) if name == "value" and v else v for name, v in row.asDict().items()} for row in found
    ]
json.dump(rows, sys.stdout)
