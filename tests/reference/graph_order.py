"""Judge job orders and longest paths with networkx.

stdin:  {"graphs": [{"nodes": [hours, ...], "edges": [[before, after], ...],
                     "order": [node, ...]}]}
stdout: {"graphs": [{"order_valid": bool, "longest": hours,
                     "levels": [[node, ...], ...]}]}

Nodes are numbered from 0. A graph with a cycle answers
{"order_valid": false, "longest": null, "levels": null, "cycle": [node, ...]}.
"""

import json
import sys

import networkx as nx


def is_topological(graph, order):
    """networkx relabels the graph by place in `order`; every edge must then go up."""
    if len(order) != len(graph) or set(order) != set(graph.nodes):
        return False
    placed = nx.relabel_nodes(graph, {node: at for at, node in enumerate(order)})
    return all(before < after for before, after in placed.edges)


def longest_hours(hours, edges):
    """Split each job into a start and an end joined by an edge that weighs its hours."""
    split = nx.DiGraph()
    for node, weight in enumerate(hours):
        split.add_edge(("start", node), ("end", node), weight=weight)
    for before, after in edges:
        split.add_edge(("end", before), ("start", after), weight=0)
    return nx.dag_longest_path_length(split, weight="weight")


def judge(item):
    graph = nx.DiGraph()
    graph.add_nodes_from(range(len(item["nodes"])))
    for before, after in item["edges"]:
        if before not in graph or after not in graph:
            raise SystemExit(f"edge {before} -> {after} names a node that is not there")
        graph.add_edge(before, after)
    if not nx.is_directed_acyclic_graph(graph):
        cycle = [before for before, _ in nx.find_cycle(graph)]
        return {"order_valid": False, "longest": None, "levels": None, "cycle": cycle}
    return {
        "order_valid": is_topological(graph, item.get("order", [])),
        "longest": longest_hours(item["nodes"], item["edges"]),
        "levels": [sorted(level) for level in nx.topological_generations(graph)],
    }


def main():
    asked = json.load(sys.stdin)
    json.dump({"graphs": [judge(item) for item in asked["graphs"]]}, sys.stdout)
    print()


if __name__ == "__main__":
    main()
