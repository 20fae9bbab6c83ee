"""Write naive_bayes.csv: posteriors of scikit-learn for the Go test to match.

Run with scikit-learn 1.2.1 (Debian 12: python3-sklearn), any later one should
do:  python3 naive_bayes.py > naive_bayes.csv

Two sets:
* multinomial: Manning, Raghavan and Schuetze 2008, Introduction to Information
  Retrieval, example 13.1 (four short documents in two classes), MultinomialNB
  with alpha 1. One answer a word of the query.
* random: 6 classes, 7 traits with as many values as the traits of this
  project, 900 training rows, 200 queries, CategoricalNB with alpha 1. Seed 7.

Rows of the csv:
  set,kind,...
  multinomial,prior,class,p                     class priors
  multinomial,word,class,word,p                 P(word | class)
  multinomial,query,words (spaces),p of each class
  random,prior,class,p
  random,trait,class,trait,p of each value      P(value | class)
  random,query,value of each trait (-1: not answered),p of each class
"""

import csv
import sys

import numpy as np
from sklearn.naive_bayes import CategoricalNB, MultinomialNB

out = csv.writer(sys.stdout, lineterminator="\n")


def text(x):
    return repr(float(x))


def multinomial():
    words = ["Chinese", "Beijing", "Shanghai", "Macao", "Tokyo", "Japan"]
    documents = [
        ("Chinese Beijing Chinese", "yes"),
        ("Chinese Chinese Shanghai", "yes"),
        ("Chinese Macao", "yes"),
        ("Tokyo Japan Chinese", "no"),
    ]

    def counts(doc):
        return [doc.split().count(w) for w in words]

    model = MultinomialNB(alpha=1).fit([counts(d) for d, _ in documents], [c for _, c in documents])
    for i, c in enumerate(model.classes_):
        out.writerow(["multinomial", "prior", c, text(np.exp(model.class_log_prior_[i]))])
        for j, w in enumerate(words):
            out.writerow(["multinomial", "word", c, w, text(np.exp(model.feature_log_prob_[i][j]))])
    for q in ["Chinese Chinese Chinese Tokyo Japan", "Beijing Tokyo", "Chinese", "Macao Japan Japan Shanghai"]:
        out.writerow(["multinomial", "query", q] + [text(p) for p in model.predict_proba([counts(q)])[0]])


def random():
    # The traits of the project that are plain choices: number of values.
    sizes = [4, 7, 3, 10, 7, 2, 5]
    classes, rows, queries = 6, 900, 200
    rng = np.random.default_rng(7)
    p = [rng.dirichlet(np.full(k, 0.6), size=classes) for k in sizes]
    y = rng.choice(classes, size=rows, p=rng.dirichlet(np.full(classes, 3)))
    x = np.array([[rng.choice(k, p=p[t][c]) for t, k in enumerate(sizes)] for c in y])
    model = CategoricalNB(alpha=1, min_categories=sizes).fit(x, y)
    for c in range(classes):
        out.writerow(["random", "prior", c, text(np.exp(model.class_log_prior_[c]))])
        for t in range(len(sizes)):
            out.writerow(["random", "trait", c, t] + [text(v) for v in np.exp(model.feature_log_prob_[t][c])])
    for i in range(queries):
        q = np.array([rng.integers(k) for k in sizes])
        given = np.ones(len(sizes), bool)
        if i % 2:  # every other query leaves answers out
            given = rng.random(len(sizes)) < 0.5
        if given.all():
            post = model.predict_proba([q])[0]
        else:  # the same model without the traits that are not answered
            part = CategoricalNB(alpha=1, min_categories=np.array(sizes)[given]) if given.any() else None
            post = part.fit(x[:, given], y).predict_proba([q[given]])[0] if part else np.exp(model.class_log_prior_)
        out.writerow(["random", "query"] + [int(v) if g else -1 for v, g in zip(q, given)] + [text(v) for v in post])


multinomial()
random()
