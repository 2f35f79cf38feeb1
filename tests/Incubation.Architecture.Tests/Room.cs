using System.Reflection.Metadata;
using System.Reflection.PortableExecutable;

namespace Incubation.Architecture.Tests;

/// <summary>A built room, read as metadata: what it refers to, without loading it.</summary>
internal sealed class Room
{
    private Room(string name, IReadOnlySet<string> assemblies, IReadOnlySet<string> members,
        IReadOnlySet<string> resources)
    {
        Name = name;
        Assemblies = assemblies;
        Members = members;
        Resources = resources;
    }

    public string Name { get; }

    /// <summary>Names of the assemblies that it refers to.</summary>
    public IReadOnlySet<string> Assemblies { get; }

    /// <summary>Members of other assemblies that it uses, as "Namespace.Type.Member".</summary>
    public IReadOnlySet<string> Members { get; }

    /// <summary>Names of what is embedded in it.</summary>
    public IReadOnlySet<string> Resources { get; }

    /// <summary>Every room that stands beside the tests.</summary>
    public static IReadOnlyList<Room> All { get; } =
    [
        .. Directory.EnumerateFiles(AppContext.BaseDirectory, "Incubation.*.dll")
            .Where(path => !path.EndsWith(".Tests.dll", StringComparison.Ordinal))
            .Order(StringComparer.Ordinal)
            .Select(Read),
    ];

    public static Room Named(string name) => All.Single(r => r.Name == "Incubation." + name);

    private static Room Read(string path)
    {
        using var file = new PEReader(File.OpenRead(path));
        var reader = file.GetMetadataReader();
        return new Room(
            Path.GetFileNameWithoutExtension(path),
            reader.AssemblyReferences.Select(h => reader.GetString(reader.GetAssemblyReference(h).Name)).ToHashSet(),
            reader.MemberReferences.Select(h => NameOf(reader, reader.GetMemberReference(h))).OfType<string>()
                .ToHashSet(),
            reader.ManifestResources.Select(h => reader.GetString(reader.GetManifestResource(h).Name)).ToHashSet());
    }

    private static string? NameOf(MetadataReader reader, MemberReference member)
    {
        if (member.Parent.Kind != HandleKind.TypeReference)
            return null;
        var type = reader.GetTypeReference((TypeReferenceHandle)member.Parent);
        return $"{reader.GetString(type.Namespace)}.{reader.GetString(type.Name)}.{reader.GetString(member.Name)}";
    }
}
